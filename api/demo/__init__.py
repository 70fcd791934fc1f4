"""The invented world of the demonstration, made by doing the work and never by loading events."""
