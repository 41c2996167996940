"""What a profile is: its settings, their kinds and identities, and the frozen records that rules and geometry read."""
