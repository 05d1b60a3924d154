"""Who is let in, how much they may send, and what every answer carries: raw ASGI, round all."""
