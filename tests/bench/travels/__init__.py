"""Random rigs, controllers that drive them, and the figures of their travels. All simulated."""
