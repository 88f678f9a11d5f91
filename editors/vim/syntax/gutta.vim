" Infusion orders (gutta). Of two that match at one place the later wins.
if exists('b:current_syntax')
  finish
endif

syntax iskeyword @,48-57,-,192-255
syntax case match

execute 'syntax match guttaPhrase /\<' .. gutta#any(g:gutta#words#phrases) .. '\>/'
execute 'syntax match guttaMeasure /\<' .. gutta#any(g:gutta#words#measures) .. '\>/'
execute 'syntax match guttaRoute /\<' .. gutta#any(g:gutta#words#routes) .. '\>/'

" A number, then its unit; `20 per mL` counts drops.
let s:unit = gutta#any(g:gutta#words#units)
execute 'syntax match guttaUnit contained /\%(per\s\+\)\?' .. s:unit .. '\%(\/' .. s:unit .. '\)\{,2}\k\@!/'
syntax match guttaNumber /\k\@1<!\d\+\%([.,]\d\+\)*\k\@!/ nextgroup=guttaUnit skipwhite
syntax match guttaDate /\<\d\{4}-\d\{2}-\d\{2}\>/
syntax match guttaRule /\<\l\+\%(-\l\+\)*\.\l\+\%(-\l\+\)*\>/

execute 'syntax match guttaLine /^\s\+\zs' .. gutta#any(g:gutta#words#lines) .. '\%(\s\|$\)\@=/'
syntax match guttaName contained /[^ \t"#,:]\+/
execute 'syntax match guttaStanza /^\s\+\zs' .. gutta#any(g:gutta#words#parts) .. '\%(\s\|$\)\@=/ nextgroup=guttaName skipwhite'
execute 'syntax match guttaStanza /^' .. gutta#any(g:gutta#words#stanzas) .. '\%(\s\|$\)\@=/ nextgroup=guttaName skipwhite'

syntax match guttaComment /#.*$/ contains=@Spell,guttaTodo
syntax keyword guttaTodo contained TODO FIXME
syntax match guttaText /"[^"]*\%("\|$\)/ contains=@Spell
syntax sync minlines=1

highlight default link guttaPhrase Operator
highlight default link guttaMeasure Identifier
highlight default link guttaRoute Constant
highlight default link guttaNumber Number
highlight default link guttaUnit Type
highlight default link guttaDate Number
highlight default link guttaRule Special
highlight default link guttaLine Keyword
highlight default link guttaStanza Structure
highlight default link guttaName Function
highlight default link guttaComment Comment
highlight default link guttaTodo Todo
highlight default link guttaText String

let b:current_syntax = 'gutta'
