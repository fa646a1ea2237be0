"""The job as data: job, vehicle, mount and bay files and their models. Pure."""
