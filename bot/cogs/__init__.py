"""The commands, one file per subject: read the options, ask a service, lay the answer out, reply."""
