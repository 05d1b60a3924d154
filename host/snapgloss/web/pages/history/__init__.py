"""The record: search, one batch, batches side by side."""
