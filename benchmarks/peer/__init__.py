"""The same plan written a second time, from the theory pages, as a clinic's statistician would: dense matrices, enumeration, cvxpy.

It shares no code with collum but the handbook lengths of a tooth, so it is the peer the times are compared with and an oracle for the
numbers. Covered: one tooth, one reading a site, no bleeding, no holds, thickness and limits by default.
"""
