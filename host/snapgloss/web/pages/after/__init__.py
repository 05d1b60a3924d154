"""The page after a batch: knife, curve, trays, turning out, grades."""
