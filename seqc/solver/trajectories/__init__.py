"""The best order of few passes with any number of needs: actuator by actuator."""
