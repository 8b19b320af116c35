"""What happens by itself: jobs that are due are done, also those that became due while nobody was there."""
