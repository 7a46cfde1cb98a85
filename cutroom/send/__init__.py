"""Sending: files to machines, stroke after stroke, so that none is lost and none drawn twice."""
