"""The densest layouts of open instances that have been published, in per cent of the strip.

Instances: the nesting sets of ESICUP, the working group on cutting and packing; gardeyn1 and gardeyn4 of Gardeyn,
Vanden Berghe and Wauters, arXiv 2509.13329 (2025), with which all these layouts were published.
"""

BEST_KNOWN = {
    "albano": 89.82,
    "blaz1": 86.22,
    "dagli": 90.17,
    "fu": 92.40,
    "gardeyn1": 90.23,
    "gardeyn4": 79.92,
    "jakobs1": 89.25,
    "marques": 92.02,
    "shapes1": 76.72,
    "swim": 79.83,
}
