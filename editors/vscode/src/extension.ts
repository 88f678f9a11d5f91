// Infusion orders in VS Code: the server, what it cannot show by itself, and
// nothing else. Nothing clinical is computed here.

import * as vscode from "vscode";
import { commands } from "./commands";
import { Derived } from "./derived";
import { Server } from "./server";
import { Status } from "./status";

let server: Server | undefined;

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  server = new Server();
  const own = server;
  context.subscriptions.push(
    own,
    new Status(own),
    new Derived(own, context.extensionUri),
    ...commands(own),
    vscode.workspace.onDidChangeConfiguration((change) => {
      if (change.affectsConfiguration("gutta.server.path")) void own.restart();
    }),
    // The path that the workspace sets holds from now on.
    vscode.workspace.onDidGrantWorkspaceTrust(() => void own.restart()),
  );
  await own.restart();
}

export async function deactivate(): Promise<void> {
  await server?.stop();
}
