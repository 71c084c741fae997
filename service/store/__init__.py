"""The store: the only code that sees tables. It takes and gives the values of `service.facts`."""
