"""One pure function a format: a drawing in, bytes out."""
