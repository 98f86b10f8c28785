"""What the tests of generated code share: machines and tables made by hand, and players."""
