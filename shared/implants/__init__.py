"""Secondary implants, as follow-up sees them: what to hold before, published aims, what each choice would bring, a plausible power."""
