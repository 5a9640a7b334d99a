"""The version of the tool, in one place."""

VERSION = "0.1.0"
