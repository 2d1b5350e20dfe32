"""``python -m hingeline``: the same door as the command ``hingeline``."""

from .cli import main

if __name__ == "__main__":
    main()
