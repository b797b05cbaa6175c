"""What the boats met: tallies and notes in time and water, effort, rates with doubt."""
