"""Step 3, solve: integers in, integers out, with CP-SAT.

Imports OR-tools and the standard library only; knows nothing of pages, files or units.
"""
