"""The use cases: values in, frozen results out."""
