"""The Raspberry Pi Pico: board, composition root, start-up."""
