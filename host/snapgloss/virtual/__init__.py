"""The virtual rig: a simulated bowl, and the real firmware in lockstep with it."""
