"""The wire between a tempering rig and its host: frames, messages, schedule, states."""
