"""A store that speaks S3 (moto's server) with one empty bucket. Says its port, and lives until its input ends."""

import json
import logging
import sys

import boto3
from moto.server import ThreadedMotoServer

logging.getLogger("werkzeug").setLevel(logging.ERROR)
server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
server.start()
_, port = server.get_host_and_port()
client = boto3.client(
    "s3",
    endpoint_url=f"http://127.0.0.1:{port}",
    region_name="us-east-1",
    aws_access_key_id="ann",
    aws_secret_access_key="secret",
)
client.create_bucket(Bucket="knives")
print(json.dumps({"port": port}), flush=True)
for line in sys.stdin:
    if line.strip() == "list":
        found = client.list_objects_v2(Bucket="knives").get("Contents", [])
        print(json.dumps([one["Key"] for one in found]), flush=True)
server.stop()
