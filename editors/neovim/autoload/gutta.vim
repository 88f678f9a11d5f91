" What the filetype's parts share. The words themselves are in gutta/words.vim.

" A pattern for any of the words; several blanks may part those of a phrase.
function! gutta#any(words) abort
  return '\%(' .. join(map(copy(a:words), 'substitute(escape(v:val, "\\.*[]^$~"), " ", "\\\\s\\\\+", "g")'), '\|') .. '\)'
endfunction

" The fold level of a line, for 'foldexpr': a stanza with the comments and
" blank lines directly above its header's is folded from the header on.
function! gutta#fold(number) abort
  let line = getline(a:number)
  if line =~# '^[^ \t#]'
    return '>1'
  endif
  if line =~# '^\s*\%(#.*\)\?$'
    " What stands above a header, or at the end, belongs to no stanza's fold.
    let next = a:number + 1
    while next <= line('$') && getline(next) =~# '^\s*\%(#.*\)\?$'
      let next += 1
    endwhile
    if next > line('$') || getline(next) =~# '^[^ \t#]'
      return line =~# '^\s\+#' ? '1' : '0'
    endif
  endif
  return '1'
endfunction

" The header, and how many lines are folded under it.
function! gutta#foldtext() abort
  return getline(v:foldstart) .. '  (' .. (v:foldend - v:foldstart) .. ' lines) '
endfunction

" The indent of a line, in columns, for 'indentexpr'.
function! gutta#indent(number) abort
  let step = shiftwidth()
  let line = getline(a:number)
  " These words start no line: they begin a stanza wherever they stand.
  if line =~# '^\s*' .. gutta#any(g:gutta#words#opening) .. '\%(\s\|$\)'
    return 0
  endif
  let above = prevnonblank(a:number - 1)
  if above == 0
    return 0
  endif
  if line =~# '^\s*' .. gutta#any(g:gutta#words#parts) .. '\%(\s\|$\)'
    return step
  endif
  let before = getline(above)
  if before =~# '^' .. gutta#any(g:gutta#words#stanzas) .. '\%(\s\|$\)'
    " `use` has no lines.
    return before =~# '^use\s' ? 0 : step
  endif
  if before =~# '^\s\+' .. gutta#any(g:gutta#words#parts) .. '\%(\s\|$\)'
    return indent(above) + step
  endif
  " After a blank line a stanza is as likely as a line: it stays where it is.
  return above < a:number - 1 ? 0 : indent(above)
endfunction

" Says once if there is no such program, when the file is on the screen.
function! gutta#look_for(program) abort
  if exists('s:looked')
    return
  endif
  let s:looked = 1
  if !executable(a:program)
    call timer_start(0, {-> execute('echohl WarningMsg | echomsg '
          \ .. string('gutta: no program `' .. a:program .. '`, so nothing is checked (g:ale_gutta_executable)')
          \ .. ' | echohl None', '')})
  endif
endfunction
