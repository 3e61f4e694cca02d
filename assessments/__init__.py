"""What we found and conclude: inspections, risk, priority, due dates, and the work that follows."""
