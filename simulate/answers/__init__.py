"""A traced scene that answers: repaints, fabrics and pictures from one ledger, without tracing again."""
