"""What is said where a GPU is asked for and none can be used."""


class NoGpu(RuntimeError):
    """Lanes cannot be computed on a GPU here; the message says why and what to do."""


class GpuFailed(NoGpu):
    """A GPU that served and fails amid its work."""
