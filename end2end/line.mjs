// The line between one tablet and the shop: a plain TCP pipe that can be cut, as a workshop's wireless net is.
import { once } from "node:events";
import { connect, createServer } from "node:net";

export class Line {
  /** Opens a line to a port of this machine. */
  static async to(port) {
    const line = new Line();
    line.sockets = new Set();
    line.isCut = false;
    line.swallowing = null;
    line.server = createServer((near) => line.#join(near, port));
    line.server.listen(0, "127.0.0.1");
    await once(line.server, "listening");
    line.url = `http://127.0.0.1:${line.server.address().port}`;
    return line;
  }

  /** Cuts it: what is open breaks off, and nothing new comes through. */
  cut() {
    this.isCut = true;
    for (const socket of this.sockets) socket.destroy();
  }

  mend() {
    this.isCut = false;
  }

  /** The next post goes through to the shop, and the line breaks before its answer is back. Resolves when it has. */
  async loseNextAnswer() {
    await new Promise((done) => (this.swallowing = done));
  }

  close() {
    this.cut();
    this.server.close();
  }

  #join(near, port) {
    if (this.isCut) return near.destroy();
    const far = connect(port, "127.0.0.1");
    let lost = false;
    for (const socket of [near, far]) {
      this.sockets.add(socket);
      socket.on("error", () => {});
      socket.on("close", () => {
        this.sockets.delete(socket);
        near.destroy();
        far.destroy();
      });
    }
    near.on("data", (bytes) => {
      if (this.swallowing && bytes.toString("latin1").startsWith("POST ")) lost = true;
      far.write(bytes);
    });
    far.on("data", (bytes) => {
      if (!lost) return near.write(bytes);
      // The shop has answered, so it has done it.
      const done = this.swallowing;
      this.swallowing = null;
      this.cut();
      done?.();
    });
  }
}
