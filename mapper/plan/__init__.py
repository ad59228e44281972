"""The one function that runs the job and the frozen plan it returns."""
