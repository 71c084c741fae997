"""The JSON API: bearer tokens, problem details, no state but what it says it stores. Unversioned until it is whole."""
