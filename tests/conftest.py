"""The same histories whoever runs the tests, and in whatever order; other ones are asked for with TIDEMARK_SEED."""

from hypothesis import settings
from hypothesis.internal.conjecture import providers

# hypothesis also draws constants it finds in the modules loaded so far: two machines, two workers, other histories
assert hasattr(providers, "_get_local_constants"), "hypothesis finds constants elsewhere now: mend tests/conftest.py"
providers._get_local_constants = providers.Constants

settings.register_profile("same", derandomize=True)
settings.load_profile("same")
