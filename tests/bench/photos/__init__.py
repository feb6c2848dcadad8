"""How well crops keep what matters, measured on openly licensed photographs marked by hand.

``sources.tsv`` lists every picture with its package, licence and credit; ``marks.json`` holds faces, main
subject and good crops as x, y, width, height in 0…1, marked by eye before anything was tuned.  No picture is
kept in the repository.  The people in the ``scene_*`` pictures were photographed apart from their background.
"""
