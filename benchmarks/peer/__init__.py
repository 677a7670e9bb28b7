"""The same plan a second time, from the theory pages, by other means: dense matrices, enumeration, a modelling language.

It shares no code with collum but the handbook lengths of a tooth: the peer of the times, and an oracle for the numbers.
Covered: one tooth, one reading a site, no bleeding, no holds, thickness and limits by default.
"""
