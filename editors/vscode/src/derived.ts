// The view beside the text: what is derived from the order at the cursor.

import { randomBytes } from "node:crypto";
import * as vscode from "vscode";
import { CONTENT_MODIFIED, METHOD, type Answer, type Message } from "./answer";
import { LANGUAGE, type Server } from "./server";

const TYPE = "gutta.derived";
/** A cursor that moves on is not followed at every step. */
const PAUSE = 40;

const NO_ORDER = "No order at the cursor. Move it into an order or a specimen.";
const NO_SERVER = "gutta is not running, so nothing is calculated.";

export class Derived implements vscode.Disposable {
  private panel: vscode.WebviewPanel | undefined;
  private editor: vscode.TextEditor | undefined;
  private timer: NodeJS.Timeout | undefined;
  /** Counts what was asked: an answer that comes late is dropped. */
  private asked = 0;
  /** Cancels what was asked last. */
  private under: vscode.CancellationTokenSource | undefined;
  /** An order leans on others: a drug, an area, the house. */
  private readonly files = vscode.workspace.createFileSystemWatcher("**/{*.gtt,gutta.toml}");
  private readonly subscriptions: vscode.Disposable[];

  constructor(
    private readonly server: Server,
    private readonly root: vscode.Uri,
  ) {
    const ours = (document: vscode.TextDocument) => document.languageId === LANGUAGE;
    this.follow(vscode.window.activeTextEditor);
    this.subscriptions = [
      vscode.commands.registerCommand("gutta.showDerived", () => this.open()),
      vscode.window.registerWebviewPanelSerializer(TYPE, {
        deserializeWebviewPanel: async (panel) => this.adopt(panel),
      }),
      vscode.window.onDidChangeActiveTextEditor((editor) => this.follow(editor)),
      vscode.window.onDidChangeTextEditorSelection(({ textEditor }) => this.follow(textEditor)),
      // What stands there is of another text from now on.
      vscode.workspace.onDidChangeTextDocument(({ document, contentChanges }) => {
        if (ours(document) && contentChanges.length > 0) this.outdate();
      }),
      vscode.workspace.onDidCloseTextDocument((document) => {
        if (ours(document)) this.outdate();
      }),
      vscode.workspace.onDidChangeConfiguration((change) => {
        if (change.affectsConfiguration("gutta")) this.outdate();
      }),
      this.files,
      this.files.onDidChange(() => this.outdate()),
      this.files.onDidCreate(() => this.outdate()),
      this.files.onDidDelete(() => this.outdate()),
      vscode.languages.onDidChangeDiagnostics(() => this.soon()),
      server.onChange(() => this.outdate()),
    ];
  }

  private open(): void {
    if (this.panel) {
      this.panel.reveal(undefined, true);
      return;
    }
    const panel = vscode.window.createWebviewPanel(
      TYPE,
      "Derived values",
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      { enableFindWidget: true },
    );
    this.adopt(panel);
  }

  private adopt(panel: vscode.WebviewPanel): void {
    this.panel?.dispose();
    this.panel = panel;
    panel.iconPath = {
      light: vscode.Uri.joinPath(this.root, "icons", "drop-light.svg"),
      dark: vscode.Uri.joinPath(this.root, "icons", "drop-dark.svg"),
    };
    const { webview } = panel;
    webview.options = {
      enableScripts: true,
      localResourceRoots: [vscode.Uri.joinPath(this.root, "dist"), vscode.Uri.joinPath(this.root, "media")],
    };
    webview.onDidReceiveMessage((message: unknown) => {
      if (message === "ready") this.outdate();
    });
    panel.onDidDispose(() => {
      if (this.panel === panel) this.panel = undefined;
    });
    panel.onDidChangeViewState(() => this.soon());
    webview.html = page(webview, this.root);
  }

  private follow(editor: vscode.TextEditor | undefined): void {
    // The view itself, or another language, leaves the order where it was.
    if (editor?.document.languageId !== LANGUAGE) return;
    this.editor = editor;
    this.soon();
  }

  /** Nothing that is shown holds any more. */
  private outdate(): void {
    this.asked += 1;
    this.tell({ kind: "waiting" });
    this.soon();
  }

  private soon(): void {
    if (!this.panel?.visible) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.ask(), PAUSE);
  }

  private async ask(): Promise<void> {
    const { editor } = this;
    this.asked += 1;
    const turn = this.asked;
    const client = this.server.running;
    if (!client) {
      this.tell({ kind: "none", why: NO_SERVER });
      return;
    }
    if (!editor || editor.document.isClosed) {
      this.tell({ kind: "none", why: NO_ORDER });
      return;
    }
    const { document } = editor;
    const { version } = document;
    this.under?.cancel();
    const under = new vscode.CancellationTokenSource();
    this.under = under;
    let told: Message;
    let stale = false;
    try {
      const answer = await client.sendRequest<Answer | null>(
        METHOD,
        client.code2ProtocolConverter.asTextDocumentPositionParams(document, editor.selection.active),
        under.token,
      );
      stale = document.version !== (answer?.version ?? version);
      told = answer ? { kind: "order", answer } : { kind: "none", why: NO_ORDER };
    } catch (error) {
      if (turn !== this.asked) return;
      stale = (error as { code?: number }).code === CONTENT_MODIFIED;
      if (!stale) this.server.output.error(`${METHOD}: ${String(error)}`);
      told = { kind: "none", why: "gutta could not answer; see its output. No value is shown." };
    }
    if (turn !== this.asked) return;
    if (stale) {
      this.soon();
      return;
    }
    this.tell(told);
  }

  private tell(message: Message): void {
    void this.panel?.webview.postMessage(message);
  }

  dispose(): void {
    clearTimeout(this.timer);
    this.under?.cancel();
    this.panel?.dispose();
    for (const each of this.subscriptions) each.dispose();
  }
}

function page(webview: vscode.Webview, root: vscode.Uri): string {
  const nonce = randomBytes(24).toString("base64url");
  const script = webview.asWebviewUri(vscode.Uri.joinPath(root, "dist", "view.js"));
  const style = webview.asWebviewUri(vscode.Uri.joinPath(root, "media", "view.css"));
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src ${webview.cspSource}; script-src 'nonce-${nonce}';">
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="${style.toString()}">
<title>Derived values</title>
</head>
<body>
<p id="said" class="unseen" role="status"></p>
<main id="order" aria-busy="true"></main>
<script nonce="${nonce}" src="${script.toString()}"></script>
</body>
</html>`;
}
