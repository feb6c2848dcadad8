"""Step 1 for what photos show: faces, what the eye goes to, and the crop that loses least of it.

Enters: a photo's pixels as seen.  Leaves: faces with room for hair and chin, whether the picture lies on its side,
and a small map of whole numbers that says how much of the picture's importance lies where.  Everything runs on this
machine; nothing is uploaded.  ``look`` is the one door that opens files; the rest are pure functions.

Frame everywhere: the picture as seen, boxes as x, y, width and height in 0…1.
"""
