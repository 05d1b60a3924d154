"""Firmware of a tempering rig: logic without hardware, and the drivers beside it."""
