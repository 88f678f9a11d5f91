" Infusion orders (gutta): a stanza's lines, and those of a phase.
if exists('b:did_indent')
  finish
endif
let b:did_indent = 1

setlocal indentexpr=gutta#indent(v:lnum)
let &l:indentkeys = 'o,O,!^F,' .. join(map(g:gutta#words#opening + g:gutta#words#parts, '"0=" .. v:val'), ',')

let b:undo_indent = 'setlocal indentexpr< indentkeys<'
