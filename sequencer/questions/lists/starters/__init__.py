"""Which earlier topics each lesson of a sequence opens with: a question of its own, with a referee and a model of its own."""
