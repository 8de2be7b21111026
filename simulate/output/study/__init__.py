"""How a study is told and kept: plan, tables, manifest, parts in a folder, pictures."""
