"""From drawing to field: meshes, elements, supports, unit cases, linear solve, recovery."""
