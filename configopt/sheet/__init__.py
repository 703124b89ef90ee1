"""What is looked at rather than read: charts."""
