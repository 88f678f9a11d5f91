// What can be asked for by name.

import * as vscode from "vscode";
import type { Location as Place, Position as Spot } from "vscode-languageclient/node";
import { run } from "./program";
import type { Server } from "./server";

interface Rule {
  rule: string;
  severity: string;
  summary: string;
}

export function commands(server: Server): vscode.Disposable[] {
  const command = vscode.commands.registerCommand;
  const pages = new Pages(server);
  return [
    vscode.workspace.registerTextDocumentContentProvider(Pages.SCHEME, pages),
    command("gutta.restart", () => server.restart()),
    command("gutta.showOutput", () => server.output.show()),
    command("gutta.showWorking", showWorking),
    command("gutta.explainRule", () => explain(server)),
    // The server's lenses run it: where an order or a drug is used.
    command("gutta.showReferences", (uri: string, at: Spot, places: Place[]) =>
      vscode.commands.executeCommand(
        "editor.action.showReferences",
        vscode.Uri.parse(uri),
        position(at),
        places.map(
          ({ uri, range }) =>
            new vscode.Location(vscode.Uri.parse(uri), new vscode.Range(position(range.start), position(range.end))),
        ),
      ),
    ),
  ];
}

function position(spot: Spot): vscode.Position {
  return new vscode.Position(spot.line, spot.character);
}

/** The line's own working stands behind its keyword. */
async function showWorking(): Promise<void> {
  const editor = vscode.window.activeTextEditor;
  if (!editor) return;
  const line = editor.document.lineAt(editor.selection.active.line);
  const at = new vscode.Position(line.lineNumber, line.firstNonWhitespaceCharacterIndex);
  editor.selection = new vscode.Selection(at, at);
  editor.revealRange(line.range);
  await vscode.commands.executeCommand("editor.action.showHover", { focus: "autoFocusImmediately" });
}

/** A rule's page, chosen from all; that of the finding at the cursor first. */
async function explain(server: Server): Promise<void> {
  const path = server.path;
  if (path === undefined) {
    void vscode.window.showWarningMessage("gutta is not running, so there is no rule to explain.");
    return;
  }
  const rules = JSON.parse(await run(path, ["rules", "--format", "json"])) as Rule[];
  const here = rulesAtCursor();
  const items = rules.map(({ rule, severity, summary }) => ({
    label: rule,
    description: here.has(rule) ? `${severity}, at the cursor` : severity,
    detail: summary,
  }));
  items.sort((one, other) => Number(here.has(other.label)) - Number(here.has(one.label)));
  const chosen = await vscode.window.showQuickPick(items, {
    title: "Explain a rule",
    placeHolder: "A rule of gutta",
    matchOnDetail: true,
  });
  if (!chosen) return;
  const page = vscode.Uri.from({ scheme: Pages.SCHEME, path: chosen.label });
  await vscode.window.showTextDocument(await vscode.workspace.openTextDocument(page), {
    preview: true,
  });
}

function rulesAtCursor(): Set<string> {
  const editor = vscode.window.activeTextEditor;
  const found = new Set<string>();
  if (!editor) return found;
  for (const finding of vscode.languages.getDiagnostics(editor.document.uri)) {
    const touches = finding.range.start.line <= editor.selection.active.line && finding.range.end.line >= editor.selection.active.line;
    const code = typeof finding.code === "object" ? finding.code.value : finding.code;
    if (touches && code !== undefined) found.add(String(code));
  }
  return found;
}

/** The rules' pages, as the program tells them. */
class Pages implements vscode.TextDocumentContentProvider {
  static readonly SCHEME = "gutta-rule";

  constructor(private readonly server: Server) {}

  async provideTextDocumentContent(uri: vscode.Uri): Promise<string> {
    const path = this.server.path;
    if (path === undefined) return "gutta is not running.\n";
    return run(path, ["explain", "--color", "never", "--", uri.path]);
  }
}
