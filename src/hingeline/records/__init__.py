"""Records: a hospital's export to checked cases; the only part of the house with SQL.

The way of a file: `source` opens it (`source_text`, `source_sheet`, `layout`), `legend` says what its columns mean,
`identifiers` stops what must not pass, `frames` picks the mapped cells (`codes`), `groins` types them in an in-memory
DuckDB (`readings`, with `phrases`, `ages` and `ehs`), `judging` asks the `rules`, and `intake` hands on cases with
the `listing` of what was set aside and the `flow` that accounts for every row.
"""
