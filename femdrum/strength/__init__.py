"""From stress history to life: counting, strength, damage, welds, cracks, scatter. Arrays in; knows no drum."""
