"""Send a live feed: python send_live.py [port] [seconds]"""

import json
import socket
import sys
import time

port = int(sys.argv[1]) if len(sys.argv) > 1 else 4710
seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
door = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
hello = {"hello": 1, "sender": "my simulation", "units": {"calibrated_airspeed": "kt", "pitch": "deg"}}
begun = time.monotonic()
for seq in range(int(seconds * 60)):
    if seq % 60 == 0:  # once a second, in case one is lost
        door.sendto(json.dumps(hello).encode(), ("127.0.0.1", port))
    t = seq / 60
    values = {"calibrated_airspeed": 120.0, "pitch": 2.5, "gear_position": 1.0, "weight_on_wheels_left": True}
    sample = {"t": t, "seq": seq, "u": 1, "v": values}
    door.sendto(json.dumps(sample).encode(), ("127.0.0.1", port))
    time.sleep(max(0.0, begun + t + 1 / 60 - time.monotonic()))
