"""What tells every open page that something it shows has changed: topics, each with an edition that rises."""
