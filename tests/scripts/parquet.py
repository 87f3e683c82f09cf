"""Small parquet files as data libraries of Python write them, for the cases in `good`: `python parquet.py good`."""
import pandas as pd, numpy as np, pyarrow as pa, pyarrow.parquet as pq, datetime as dt, decimal, sys, os
out=sys.argv[1]
df=pd.DataFrame({
 "zone": pd.Categorical(["beds","lawn",None,"beds"]),
 "lasting": pd.to_timedelta([20,15,None,7.5],unit="min"),
 "day": [dt.date(2026,7,1),dt.date(2026,7,2),None,dt.date(2026,7,4)],
 "at": pd.to_datetime(["2026-07-01 05:30","2026-07-01 21:00",None,"2026-07-02 05:30"]),
 "at_local": pd.to_datetime(["2026-07-01 05:30","2026-07-01 21:00",None,"2026-12-02 05:30"]).tz_localize("America/Denver"),
 "at_utc": pd.to_datetime(["2026-07-01 05:30","2026-07-01 21:00",None,"2026-12-02 05:30"]).tz_localize("UTC"),
 "start": [dt.time(5,30),dt.time(21,0),None,dt.time(5,45,30)],
 "price": [decimal.Decimal("12.50"),decimal.Decimal("3.25"),None,decimal.Decimal("100.00")],
 "ok": pd.array([True,False,None,True],dtype="boolean"),
 "valve": pd.array([1,2,None,-4],dtype="Int8"),
 "pulses": np.array([1,2,3,65535],dtype="uint16"),
 "half": np.array([1.5,2.5,np.nan,-4.5],dtype="float16"),
 "p [psi]": np.array([40.5,41,np.nan,42],dtype="float32"),
})
t=pa.Table.from_pandas(df)
t=t.append_column("note", pa.array(["a","b",None,"d"],type=pa.large_string()))
t=t.append_column("serial", pa.array([1,2**60+1,None,3],type=pa.int64()))
t=t.append_column("size", pa.array([10,20,None,10]).dictionary_encode())
t=t.append_column("nothing", pa.nulls(4))
t=t.append_column("raw", pa.array([b"\xff\xfe",b"b",None,b"d"]))
t=t.append_column("list", pa.array([[1,2],[3],None,[]]))
t=t.append_column("part", pa.array([{"a":1},{"a":2},None,{"a":3}]))
pq.write_table(t,os.path.join(out,"kinds.parquet"),compression="zstd")
print(os.path.getsize(os.path.join(out,"kinds.parquet")))
import polars as pl
p=pl.DataFrame({
 "zone": ["beds","lawn",None],
 "kind": ["a","b",None],
 "lasting": [dt.timedelta(minutes=20),dt.timedelta(seconds=90),None],
 "start": [dt.time(5,30),dt.time(21,0,30),None],
 "at": [dt.datetime(2026,7,1,5,30),dt.datetime(2026,12,1,5,30),None],
 "small": [1,255,None], "pair": [[1,2],[3],None],
}, schema_overrides={"zone":pl.Categorical,"kind":pl.Enum(["a","b"]),"small":pl.UInt8,"at":pl.Datetime("us","Europe/Berlin")})
p.write_parquet(os.path.join(out,"kinds-2.parquet"))
print(os.path.getsize(os.path.join(out,"kinds-2.parquet")))
