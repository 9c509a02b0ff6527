"""What is known without a mesh: closed forms, published fits, the exact plane solution."""
