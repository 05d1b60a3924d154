"""What every other part uses: errors, units, records, settings and the clock."""
