"""What a record of reps says about a player, and what to practise next: import from its modules.

Values in, values out: dates, moments and zones are passed in, and results are codes and numbers that
bot/render words.
"""
