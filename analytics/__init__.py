"""Training logs of a roster of athletes, turned into answers a coach can stand by."""
