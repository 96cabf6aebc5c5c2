"""`rigd` on the command line."""

from __future__ import annotations

from rigd.commands import main

if __name__ == "__main__":
    main()
