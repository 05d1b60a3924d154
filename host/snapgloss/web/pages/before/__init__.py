"""The page before a batch: choose, look, check, send; a person presses start at the rig."""
