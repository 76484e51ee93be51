//! Nothing here: the checks are the integration tests in `tests/`.
