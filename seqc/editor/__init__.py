"""What an editor asks about a machine file, answered over the Language Server Protocol."""
