"""`python -m playalong.cli`."""

from playalong.cli import main

main()
