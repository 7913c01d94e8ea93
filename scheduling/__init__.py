"""Who works where on which day, and what it really cost."""
