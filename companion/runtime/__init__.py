"""The one place where a job is put together and kept alive."""
