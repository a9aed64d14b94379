"""What is taught in the minutes a week gives: unit maps, events, trips and getting ready."""
