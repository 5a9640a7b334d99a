"""A search for faults: random parts in random shops, each job held by laws that share no code with planner or judge."""
