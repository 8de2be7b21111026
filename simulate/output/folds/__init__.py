"""How folds are told: in `measure`, in `flatness`, in one sentence."""
