"""The benchmark: how good, how fast and how large, over the starter pages.

``make bench`` runs it; no test does.
"""
