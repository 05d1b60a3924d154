"""The page of all rigs."""
