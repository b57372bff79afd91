"""The quarterly review: what is full, what fills next and when, what changed, what it costs.

taken.py      a review is a stored headroom computation, never altered; compared.py compares two
exhaustion.py where each resource leads: over readings and reviews, in a range of dates
cures.py      the smallest changes that would cure a row; actions.py carries them to the next review
spend.py      what renewals, batteries and equipment cost, by quarter for three years
asked.py      which duties the quarter asks for
"""
