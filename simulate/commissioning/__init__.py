"""A finished room against its design: site readings, what they agree with, and what explains them where they do not."""
