"""What it means: grade, weigh, plan; one pure call, `assess`."""
