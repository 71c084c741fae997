"""A child's course: findings at a review, its one proposal, the expected response."""
