"""A simulated camera that speaks PTP/IP: ISO 15740 carried over TCP as CIPA DC-X005 lays down."""
