"""The one live session of a rig: who owns its port, and what all who watch are told."""
