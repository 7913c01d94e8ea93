"""Pure rules of the calendar: no Django, no clock, no settings."""
