"""What a programme does to its machine in time: wear, heat, energy and stock."""
