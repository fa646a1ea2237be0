"""What keeps a live job going when devices, disk or recogniser fail."""
