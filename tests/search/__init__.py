"""A search for faults: random parts in random shops, held to laws that share no code with planner or judge."""
