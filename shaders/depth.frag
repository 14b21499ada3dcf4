// Only the depth is kept. Inputs, spaces and units: README.md.

void main() {}
