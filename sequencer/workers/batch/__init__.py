"""Many scenarios at once: found in a folder, each solved in a process of its own or on a cluster, kept as they are done."""
