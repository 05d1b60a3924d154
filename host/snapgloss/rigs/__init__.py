"""What a rig is made of, and which files its board gets."""
