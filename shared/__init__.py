"""The clinical core: the trade's vocabulary, published numbers and the rules built on them. Imports nothing of ours."""
