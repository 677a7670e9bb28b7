"""Golden answers: what the program answered to frozen cases, so that a change of form can be shown to change no answer."""

import os

# As the program itself does, before numpy is loaded: how many threads share a sum decides its last places.
for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_threads, "1")
