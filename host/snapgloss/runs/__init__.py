"""Use cases over one rig and one record: connect, temper a batch, list and show runs."""
