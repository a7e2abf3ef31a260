"""What the supplies carry, and how long their batteries last."""
