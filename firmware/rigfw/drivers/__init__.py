"""Hardware drivers; each takes its pins and buses from outside."""
