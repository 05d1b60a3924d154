"""The rig itself: what it is, what is due, what to do when it stops."""
