"""The write side: one function a deed. Each is handed an open transaction and `now`, and leaves facts, audit and outbox rows behind."""
