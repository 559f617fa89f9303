"""Settings every test runs under."""

from hypothesis import HealthCheck, settings

# Same cases on every run and machine, so that a failure anywhere can be seen here; looking for
# new cases is a decision: pytest --hypothesis-profile=explore.
settings.register_profile(
    "repeatable",
    derandomize=True,
    database=None,
    deadline=None,  # shared machines stall; speed is measured in benchmarks/
    max_examples=50,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("explore", parent=settings.get_profile("default"), deadline=None)
settings.load_profile("repeatable")
