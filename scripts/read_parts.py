"""What the parts of a study say of a column, read with polars where they lie: nothing is joined, and any number of cases fits.

    python scripts/read_parts.py FOLDER COLUMN [SWEEP]      such as parts "berry.pressure [psi]"

Needs polars (pip install polars). DuckDB reads the same files: SELECT min("berry.pressure [psi]") FROM 'parts/sweep-1-part-*.parquet'.
"""

import sys
from pathlib import Path

import polars as pl


def main():
    if len(sys.argv) < 3:
        sys.exit(__doc__)
    folder, column, sweep = Path(sys.argv[1]), sys.argv[2], sys.argv[3] if len(sys.argv) > 3 else "1"
    parts = pl.scan_parquet(folder / f"sweep-{sweep}-part-*.parquet")
    known = parts.collect_schema().names()
    if column not in known:
        sys.exit(f"no column {column!r}; the columns are {', '.join(known)}")
    value = pl.col(column)
    shares = [0.05, 0.5, 0.95]
    asked = parts.select(
        pl.len().alias("cases"),
        value.null_count().alias("missing"),
        value.mean().alias("mean"),
        *[value.quantile(share).alias(f"{share:.0%}") for share in shares],
    )
    found = asked.collect(engine="streaming").row(0, named=True)
    print(f"{found.pop('cases'):,} cases, {found.pop('missing'):,} without {column}")
    for name, number in found.items():
        print(f"{name:>5}  {number:.4g}")


if __name__ == "__main__":
    main()
