"""Visual acuity: read, compared, held to norms, and what it says of amblyopia."""
