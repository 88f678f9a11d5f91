// How many errors the workspace has, below the editor.

import * as vscode from "vscode";
import type { Server } from "./server";

const SOURCE = "gutta";

export class Status implements vscode.Disposable {
  private readonly item = vscode.window.createStatusBarItem("gutta.errors", vscode.StatusBarAlignment.Left, 40);
  private readonly subscriptions: vscode.Disposable[];

  constructor(private readonly server: Server) {
    this.item.name = "gutta: errors of the workspace";
    this.subscriptions = [
      vscode.languages.onDidChangeDiagnostics(() => this.show()),
      server.onChange(() => this.show()),
    ];
    this.show();
    this.item.show();
  }

  private show(): void {
    const { item } = this;
    if (!this.server.running) {
      item.text = "$(circle-slash) gutta: not running";
      item.tooltip = "Nothing is checked. Select to restart the server.";
      item.command = "gutta.restart";
      item.backgroundColor = new vscode.ThemeColor("statusBarItem.warningBackground");
      item.accessibilityInformation = { label: "gutta is not running, nothing is checked. Restart the server." };
      return;
    }
    const { errors, warnings } = counted();
    const said = `${plural(errors, "error")}, ${plural(warnings, "warning")} in this workspace's orders`;
    item.text = errors === 0 ? "$(check) gutta" : `$(error) gutta ${errors}`;
    item.tooltip = `${said}. A checking aid, not a medical device.`;
    item.command = "workbench.actions.view.problems";
    item.backgroundColor = undefined;
    item.accessibilityInformation = { label: `gutta: ${said}. Show problems.`, role: "button" };
  }

  dispose(): void {
    for (const each of this.subscriptions) each.dispose();
    this.item.dispose();
  }
}

function plural(count: number, word: string): string {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}

function counted(): { errors: number; warnings: number } {
  let errors = 0;
  let warnings = 0;
  for (const [, findings] of vscode.languages.getDiagnostics()) {
    for (const finding of findings) {
      if (finding.source !== SOURCE) continue;
      if (finding.severity === vscode.DiagnosticSeverity.Error) errors += 1;
      if (finding.severity === vscode.DiagnosticSeverity.Warning) warnings += 1;
    }
  }
  return { errors, warnings };
}
