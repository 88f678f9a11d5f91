" Infusion orders (gutta): comments, blanks and folds.
if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal comments=:# commentstring=#\ %s
setlocal iskeyword=@,48-57,-,192-255
setlocal expandtab shiftwidth=2 softtabstop=2
setlocal formatoptions-=t formatoptions+=croql
setlocal foldmethod=expr foldexpr=gutta#fold(v:lnum) foldtext=gutta#foldtext() foldlevel=99

let b:undo_ftplugin = 'setlocal comments< commentstring< iskeyword< expandtab< shiftwidth<'
      \ .. ' softtabstop< formatoptions< foldmethod< foldexpr< foldtext< foldlevel<'

" Said once: without the program, silence would look like a clean file.
if exists(':ALELint') == 2
  call gutta#look_for(get(g:, 'ale_gutta_executable', 'gutta'))
endif
