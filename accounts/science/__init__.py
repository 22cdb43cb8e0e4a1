"""Plain rules about people and time: no database, no clock."""
