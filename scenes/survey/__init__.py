"""A room as one measures it on site: questions in the order of the tape, answers as they are said, and the scene they make."""
