"""The frame and combo engine: values in, values out; no clock, no files, no network."""
