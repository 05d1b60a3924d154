"""What pages with forms are made of: touches, number pads, sentences in either scale."""
