"""Evidence: how far the calls can be trusted, measured on simulated rosters whose truth is known."""
