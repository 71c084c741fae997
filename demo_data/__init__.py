"""An invented clinic in an invented town, its families, and what happened to them in the months before today."""
