"""Stories of what a photographer does in the app, told in a browser."""
