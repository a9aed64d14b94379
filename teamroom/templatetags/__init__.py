"""What templates of several apps share."""
