"""From a chocolate and a rig to a validated schedule, its file and its forecast."""
