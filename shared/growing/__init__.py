"""How an eye grows: refraction and length over time."""
