" Infusion orders (gutta): the language server, for ALE.

call ale#Set('gutta_executable', 'gutta')

" The workspace begins where a gutta.toml stands; a file alone is its own.
function! ale_linters#gutta#gutta#Root(buffer) abort
  let marker = ale#path#FindNearestFile(a:buffer, 'gutta.toml')
  return empty(marker) ? fnamemodify(bufname(a:buffer), ':p:h') : fnamemodify(marker, ':h')
endfunction

call ale#linter#Define('gutta', {
      \ 'name': 'gutta',
      \ 'lsp': 'stdio',
      \ 'executable': {buffer -> ale#Var(buffer, 'gutta_executable')},
      \ 'command': '%e serve',
      \ 'language': 'gutta',
      \ 'project_root': function('ale_linters#gutta#gutta#Root'),
      \ })
