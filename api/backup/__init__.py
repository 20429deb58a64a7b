"""One file that holds everything a shop owns: written while the shop goes on, read back into an empty or an older database."""
