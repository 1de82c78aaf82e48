"""Which other sizes would mend a finding: offered by the rule packs, written into the text, and inspected again before anybody is told."""
