"""Cornerman: the chat bot, and the command line that answers from the same services."""
