"""What stands around any page: notices, damage, disputes, and what a form or a record did not bear."""
