"""The bot as the platform sees it: its set-up, the one place that sends, errors, doubles and the end."""
