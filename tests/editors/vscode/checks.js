// Tests by name, and their count.
"use strict";

class Checks {
  constructor(editor) {
    this.editor = editor;
    this.passed = 0;
    this.failed = 0;
  }

  /** Runs a test, and says whether it passed; what `after` does helps to see why not. */
  async run(name, test, after) {
    const began = Date.now();
    try {
      await test();
      this.passed += 1;
      console.log(`ok   ${this.editor}: ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)`);
      return true;
    } catch (error) {
      this.failed += 1;
      console.log(`FAIL ${this.editor}: ${name}\n${error.stack ?? error}`);
      await after().catch(() => undefined);
      return false;
    }
  }

  /** The count, and the exit status. */
  end() {
    console.log(`editor ${this.editor}: ${this.passed} passed, ${this.failed} failed`);
    return this.failed === 0 && this.passed > 0 ? 0 : 1;
  }
}

module.exports = { Checks };
