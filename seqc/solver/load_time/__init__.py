"""The quickest of the loads in the fewest passes, by the schedule itself."""
