;;; gutta-mode.el --- Infusion orders (gutta)  -*- lexical-binding: t; -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "28.1"))
;; Keywords: languages

;;; Commentary:

;; A major mode for infusion orders in plain text (`.gtt'): colours, indentation,
;; an index of the stanzas, and the language server through eglot.

;;; Code:

(require 'cl-lib)
(require 'project)
(require 'gutta-words)

(defgroup gutta nil
  "Infusion orders in plain text."
  :group 'languages)

(defcustom gutta-command '("gutta" "serve")
  "How the language server is started: the program, then its arguments."
  :type '(repeat string))

(defconst gutta-mode--name "[^] \t\n\"#,:[]+"
  "A name.")

(defun gutta-mode--any (words)
  "A regular expression for any of WORDS, whole; several blanks may part a phrase."
  (concat "\\_<\\(?:"
          (mapconcat (lambda (word)
                       (replace-regexp-in-string " " "[ \t]+" (regexp-quote word) t t))
                     words "\\|")
          "\\)\\_>"))

(defun gutta-mode--header (words &optional indented)
  "A regular expression for a line that one of WORDS and a name begin.
With INDENTED, it does not begin in the first column."
  (concat "^" (if indented "[ \t]+" "")
          "\\(" (gutta-mode--any words) "\\)\\(?:[ \t]+\\(" gutta-mode--name "\\)\\)?"))

(defconst gutta-mode--quantity
  (let ((unit (concat "\\(?:" (mapconcat #'regexp-quote gutta-words-units "\\|") "\\)")))
    (concat "\\_<\\([0-9]+\\(?:[.,][0-9]+\\)*\\)\\_>"
            "\\(?:[ \t]+\\(?:per[ \t]+\\)?\\(" unit "\\(?:/" unit "\\)\\{0,2\\}\\)\\(?:[ \t,]\\|$\\)\\)?"))
  "A number, and its unit.")

;; The first that matches a place keeps it.
(defconst gutta-mode-font-lock
  `((,(gutta-mode--header gutta-words-stanzas)
     (1 font-lock-keyword-face) (2 font-lock-function-name-face nil t))
    (,(gutta-mode--header gutta-words-parts t)
     (1 font-lock-keyword-face) (2 font-lock-function-name-face nil t))
    (,(concat "^[ \t]+\\(" (gutta-mode--any gutta-words-lines) "\\)")
     (1 font-lock-builtin-face))
    ("\\_<[0-9]\\{4\\}-[0-9]\\{2\\}-[0-9]\\{2\\}\\_>" . font-lock-constant-face)
    ("\\_<[a-z]+\\(?:-[a-z]+\\)*\\.[a-z]+\\(?:-[a-z]+\\)*\\_>" . font-lock-preprocessor-face)
    (,gutta-mode--quantity
     (1 font-lock-constant-face) (2 font-lock-type-face nil t))
    (,(gutta-mode--any gutta-words-routes) . font-lock-constant-face)
    (,(gutta-mode--any gutta-words-measures) . font-lock-variable-name-face)
    (,(gutta-mode--any gutta-words-phrases) . font-lock-builtin-face))
  "What is coloured.")

(defvar gutta-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?- "_" table)
    (modify-syntax-entry ?. "." table)
    ;; A text ends with its line at the latest: see `gutta-mode--propertize'.
    (modify-syntax-entry ?\" "." table)
    table)
  "Syntax of `gutta-mode'.")

(defun gutta-mode--propertize (start end)
  "Mark the texts between START and END; one left open ends with its line."
  (goto-char start)
  (while (re-search-forward "\\(\"\\)[^\"\n]*\\([\"\n]\\)" end t)
    (if (save-excursion (nth 4 (syntax-ppss (match-beginning 1))))
        (forward-line 1)
      (dolist (group '(1 2))
        (put-text-property (match-beginning group) (match-end group)
                           'syntax-table (string-to-syntax "|"))))))

(defun gutta-mode-indent-line ()
  "Indent the line as a stanza's, or a phase's; a header stays in the first column."
  (interactive)
  (let ((wanted (gutta-mode--indent)))
    (if (> (current-column) (current-indentation))
        (save-excursion (indent-line-to wanted))
      (indent-line-to wanted))))

(defun gutta-mode--indent ()
  "The indent of the current line, in columns."
  (save-excursion
    (beginning-of-line)
    (cond
     ;; These words start no line: they begin a stanza wherever they stand.
     ((looking-at (concat "[ \t]*" (gutta-mode--any gutta-words-opening) "[ \t]")) 0)
     ((looking-at "\\(?:area\\|drug\\|pump\\|giving-set\\)[ \t].*\"") 0)
     ((not (save-excursion (re-search-backward "^[ \t]*[^ \t\n]" nil t))) 0)
     ((looking-at (concat "[ \t]*" (gutta-mode--any gutta-words-parts))) 2)
     (t
      (let ((after-blank (save-excursion (forward-line -1) (looking-at "[ \t]*$"))))
        (re-search-backward "^[ \t]*[^ \t\n]")
        (cond
         ((looking-at "use[ \t]") 0)
         ((looking-at (gutta-mode--any gutta-words-stanzas)) 2)
         (after-blank 0)
         ((looking-at (concat "[ \t]+" (gutta-mode--any gutta-words-parts)))
          (+ 2 (current-indentation)))
         (t (current-indentation))))))))

;;;###autoload
(define-derived-mode gutta-mode prog-mode "gutta"
  "Major mode for infusion orders in plain text."
  (setq-local font-lock-defaults '(gutta-mode-font-lock))
  (setq-local syntax-propertize-function #'gutta-mode--propertize)
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local indent-tabs-mode nil)
  (setq-local indent-line-function #'gutta-mode-indent-line)
  (setq-local outline-regexp "[^ \t\n#]")
  (setq-local outline-level (lambda () 1))
  (setq-local imenu-generic-expression
              (mapcar (lambda (word)
                        (list word (concat "^" word "[ \t]+\\(" gutta-mode--name "\\)") 1))
                      (remove "use" gutta-words-stanzas))))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.gtt\\'" . gutta-mode))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs
               (cons 'gutta-mode (lambda (&optional _interactive) gutta-command))))

;; A workspace begins where a gutta.toml stands, in a repository or not.
(defun gutta-mode-project (folder)
  "The workspace that holds FOLDER, as a project."
  (let ((root (locate-dominating-file folder "gutta.toml")))
    (and root (list 'gutta root))))

(cl-defmethod project-root ((project (head gutta)))
  "The folder of PROJECT."
  (nth 1 project))

(defun gutta-mode--project ()
  "Look for the workspace before the repository."
  (add-hook 'project-find-functions #'gutta-mode-project nil t))

(add-hook 'gutta-mode-hook #'gutta-mode--project)

(provide 'gutta-mode)

;;; gutta-mode.el ends here
