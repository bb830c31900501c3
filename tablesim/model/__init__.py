"""What a person states: frozen models, validated here and nowhere else."""
