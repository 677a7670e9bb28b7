"""What is recommended and why, the least change that would help, and what remains where no route is open."""
