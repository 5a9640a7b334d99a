"""`python -m cam` is the command `endshake`."""

from cam.cli import main

main()
