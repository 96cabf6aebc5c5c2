"""The conductor of a frame's way: trigger -> settle -> expose -> fetch -> store -> judge -> advance."""
