// VS Code's server part on loopback, with nothing of the outside.
"use strict";

const { spawn, execFileSync } = require("node:child_process");
const net = require("node:net");
const path = require("node:path");

const PATIENCE = 90_000;

function freePort() {
  return new Promise((resolve, reject) => {
    const probe = net.createServer();
    probe.once("error", reject);
    probe.listen(0, "127.0.0.1", () => {
      const { port } = probe.address();
      probe.close(() => resolve(port));
    });
  });
}

class CodeServer {
  static async start({ node, vsix, place, trusting }) {
    const script = path.join(path.dirname(require.resolve("code-server/package.json")), "out/node/entry.js");
    const folders = ["--user-data-dir", place.user, "--extensions-dir", path.join(place.folder, "extensions")];
    const config = ["--config", path.join(place.folder, "config.yaml")];
    const env = {
      PATH: process.env.PATH,
      HOME: place.folder,
      XDG_CACHE_HOME: path.join(place.folder, "cache"),
      LANG: "C.UTF-8",
      EXTENSIONS_GALLERY: JSON.stringify({ serviceUrl: "", itemUrl: "", resourceUrlTemplate: "" }),
    };
    execFileSync(node, [script, ...folders, ...config, "--install-extension", path.resolve(vsix)], {
      env,
      stdio: ["ignore", "inherit", "inherit"],
    });
    const port = await freePort();
    const child = spawn(
      node,
      [
        script,
        ...folders,
        ...config,
        ...["--bind-addr", `127.0.0.1:${port}`, "--auth", "none"],
        ...["--disable-telemetry", "--disable-update-check", "--disable-getting-started-override"],
        ...(trusting ? ["--disable-workspace-trust"] : []),
      ],
      { env, stdio: ["ignore", "pipe", "pipe"] },
    );
    const server = new CodeServer(child, port);
    await server.ready();
    return server;
  }

  constructor(child, port) {
    this.child = child;
    this.url = `http://127.0.0.1:${port}`;
    this.said = "";
    for (const stream of [child.stdout, child.stderr]) {
      stream.setEncoding("utf8");
      stream.on("data", (text) => (this.said += text));
    }
  }

  async ready() {
    const end = Date.now() + PATIENCE;
    while (Date.now() < end) {
      if (this.child.exitCode !== null) break;
      try {
        if ((await fetch(`${this.url}/healthz`)).ok) return;
      } catch {
        // Not yet.
      }
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    throw new Error(`code-server did not start:\n${this.said}`);
  }

  async stop() {
    if (this.child.exitCode !== null) return;
    const gone = new Promise((resolve) => this.child.once("exit", resolve));
    this.child.kill("SIGTERM");
    const late = setTimeout(() => this.child.kill("SIGKILL"), 10_000);
    await gone;
    clearTimeout(late);
  }
}

module.exports = { CodeServer };
