"""``python -m latchwork`` is the command ``latchwork``."""

from latchwork.cli import main

main()
