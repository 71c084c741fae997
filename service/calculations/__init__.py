"""Every computation by itself, for a person or a program that registers nobody: what it asks as data, and how the core's answer is laid out."""
