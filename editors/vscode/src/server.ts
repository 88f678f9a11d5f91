// The server's life: started, restarted, stopped, and what is said where it
// cannot be.

import * as vscode from "vscode";
import { LanguageClient, RevealOutputChannelOn, State, TransportKind } from "vscode-languageclient/node";
import { find, NoProgram, type Program } from "./program";

export const LANGUAGE = "gutta";

export class Server implements vscode.Disposable {
  readonly output = vscode.window.createOutputChannel("gutta", { log: true });
  private client: LanguageClient | undefined;
  private program: Program | undefined;
  private turn: Promise<void> = Promise.resolve();
  private readonly changed = new vscode.EventEmitter<void>();
  /** The server was started, or is gone. */
  readonly onChange = this.changed.event;

  /** Starts it anew; one after the other where it is asked for twice. */
  restart(): Promise<void> {
    this.turn = this.turn.then(async () => {
      await this.stop();
      await this.start();
    });
    return this.turn;
  }

  /** The running client, for requests. */
  get running(): LanguageClient | undefined {
    return this.client?.state === State.Running ? this.client : undefined;
  }

  /** The program that is run; undefined where there is none. */
  get path(): string | undefined {
    return this.program?.path;
  }

  private async start(): Promise<void> {
    const folder = vscode.workspace.workspaceFolders?.[0]?.uri.fsPath;
    const setting = vscode.workspace.getConfiguration("gutta").get<string>("server.path", "");
    try {
      this.program = await find(setting, folder);
      this.output.info(`runs ${this.program.path}, version ${this.program.version.join(".")}`);
      const client = this.make(this.program.path);
      this.client = client;
      client.onDidChangeState(() => this.changed.fire());
      await client.start();
    } catch (error) {
      const client = this.client;
      this.client = undefined;
      await client?.dispose().catch(() => undefined);
      this.output.error(String(error instanceof Error ? error.message : error));
      void this.tell(error);
    }
    this.changed.fire();
  }

  private make(path: string): LanguageClient {
    return new LanguageClient(
      "gutta",
      "gutta",
      { command: path, args: ["serve"], transport: TransportKind.stdio },
      {
        documentSelector: [
          { scheme: "file", language: LANGUAGE },
          { scheme: "untitled", language: LANGUAGE },
        ],
        outputChannel: this.output,
        revealOutputChannelOn: RevealOutputChannelOn.Never,
        markdown: { isTrusted: false, supportHtml: false },
      },
    );
  }

  private async tell(error: unknown): Promise<void> {
    const set = "Set the Path";
    const help = "What to Do";
    const output = "Show the Output";
    const known = error instanceof NoProgram;
    const message = known ? error.message : "The server of gutta could not be started. Nothing is checked.";
    const choice = await vscode.window.showErrorMessage(message, set, known ? help : output);
    if (choice === set) {
      await vscode.commands.executeCommand("workbench.action.openSettings", "gutta.server.path");
    } else if (choice === help) {
      await vscode.commands.executeCommand("workbench.action.openWalkthrough", "gutta.gutta#begin", false);
    } else if (choice === output) {
      this.output.show();
    }
  }

  async stop(): Promise<void> {
    const client = this.client;
    this.client = undefined;
    this.program = undefined;
    await client?.dispose().catch((error: unknown) => this.output.warn(String(error)));
  }

  dispose(): void {
    void this.stop();
    this.changed.dispose();
    this.output.dispose();
  }
}
