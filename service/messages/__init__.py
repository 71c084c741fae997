"""Messages to caregivers: their words, and the channels that carry them."""
