"""Routes: parse, call one action or view, answer. No rule lives here."""
