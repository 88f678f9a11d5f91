;;; emacs.el --- Emacs itself, in batch, with eglot and the server  -*- lexical-binding: t; -*-

;;; Commentary:

;; Run by `tests/editors/run.py': the current directory is a copy of
;; `tests/editors/workspace'.

;;; Code:

(require 'ert)
(require 'package)
(package-initialize)
(require 'eglot)
(require 'gutta-mode)

(defconst test-patience 30.0)

(defun test-wait (what condition)
  "Wait until CONDITION holds, or fail and name WHAT."
  (let ((end (+ (float-time) test-patience)))
    (while (not (funcall condition))
      (when (> (float-time) end)
        (ert-fail (format "not within %s s: %s" test-patience what)))
      (accept-process-output nil 0.05))))

(defun test-visit (name)
  "The buffer of the file NAME, shown and coloured."
  (let ((buffer (find-file-noselect name)))
    (switch-to-buffer buffer)
    (font-lock-ensure)
    buffer))

(defun test-face (line word)
  "The face of WORD in LINE."
  (goto-char (point-min))
  (forward-line (1- line))
  (search-forward word (line-end-position))
  (get-text-property (match-beginning 0) 'face))

(defun test-findings ()
  "Line, kind and rule of each finding, in order."
  (sort (mapcar (lambda (found)
                  (format "%d %s %s"
                          (line-number-at-pos (flymake-diagnostic-beg found))
                          (flymake-diagnostic-type found)
                          (flymake-diagnostic-text found)))
                (flymake-diagnostics))
        #'string<))

(defun test-has (line kind rule)
  "Whether a finding of RULE and KIND stands in LINE."
  (seq-some (lambda (found)
              (and (string-prefix-p (format "%d %s " line kind) found)
                   (string-match-p (regexp-quote rule) found)))
            (test-findings)))

(ert-deftest gutta-colours ()
  (with-current-buffer (test-visit "orders.gtt")
    (should (eq major-mode 'gutta-mode))
    (should (eq (test-face 5 "order") 'font-lock-keyword-face))
    (should (eq (test-face 5 "noradrenaline-central") 'font-lock-function-name-face))
    (should (eq (test-face 5 "single") 'font-lock-string-face))
    (should (eq (test-face 6 "noradrenaline") nil))
    (should (eq (test-face 9 "route") 'font-lock-builtin-face))
    (should (eq (test-face 9 "central vein") 'font-lock-constant-face))
    (should (eq (test-face 11 "4") 'font-lock-constant-face))
    (should (eq (test-face 11 "mg") 'font-lock-type-face))
    (should (eq (test-face 11 "made up to") 'font-lock-builtin-face))
    (should (eq (test-face 11 "-5") nil))
    (should (eq (test-face 12 "mcg/kg/min") 'font-lock-type-face))
    (should (eq (test-face 14 "flow") 'font-lock-variable-name-face))
    (should (memq (test-face 1 "Invented") '(font-lock-comment-face)))))

(ert-deftest gutta-text-left-open ()
  (with-temp-buffer
    (gutta-mode)
    (insert "order a \"left open\n  note \"a # is no comment\" # \"this is\n  drug b\n")
    (font-lock-ensure)
    (should (eq (test-face 1 "open") 'font-lock-string-face))
    (should (eq (test-face 2 "is no") 'font-lock-string-face))
    (should (memq (test-face 2 "this") '(font-lock-comment-face)))
    (should (eq (test-face 3 "drug") 'font-lock-builtin-face))))

(ert-deftest gutta-indents ()
  (with-temp-buffer
    (gutta-mode)
    (let ((wanted "order a\n  drug b\n  phase one\n    mix c\n  phase two\n    run d\n\norder e\n  drug f\n"))
      (insert (replace-regexp-in-string "^ +" "" wanted))
      (let ((inhibit-message t)) (indent-region (point-min) (point-max)))
      (should (equal (buffer-string) wanted)))))

(ert-deftest gutta-lists-stanzas ()
  (with-current-buffer (test-visit "reference.gtt")
    (let ((index (imenu--make-index-alist t)))
      (should (assoc "noradrenaline" (cdr (assoc "drug" index))))
      (should (assoc "syringe" (cdr (assoc "pump" index)))))))

(ert-deftest gutta-findings ()
  (with-current-buffer (test-visit "orders.gtt")
    (let ((contact (eglot--guess-contact)))
      (apply #'eglot--connect contact))
    (should (eglot-managed-p))
    (should (file-equal-p (project-root (eglot--project (eglot-current-server)))
                          default-directory))
    (flymake-start)
    (test-wait "findings" (lambda () (test-findings)))
    (should (test-has 23 "eglot-error" "The dose of noradrenaline is 3 mcg/kg/min; never above 2 mcg/kg/min."))
    (should (test-has 22 "eglot-warning" "`16mg` has no space"))
    (should (= (length (test-findings)) 6))
    ;; They follow what is typed.
    (goto-char (point-min))
    (search-forward "at 3 mcg")
    (replace-match "at 0.3 mcg")
    (eglot--signal-textDocument/didChange)
    (test-wait "the limit kept" (lambda () (= (length (test-findings)) 3)))
    (should-not (test-has 23 "eglot-error" ""))
    (set-buffer-modified-p nil)
    (eglot-shutdown (eglot-current-server))))

(defun test-all ()
  "Run all, say how many passed, and leave."
  (let* ((stats (ert-run-tests-batch t))
         (failed (ert-stats-completed-unexpected stats)))
    (message "editor emacs: %d passed, %d failed" (ert-stats-completed-expected stats) failed)
    (kill-emacs (if (zerop failed) 0 1))))

;;; emacs.el ends here
