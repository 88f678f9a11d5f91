autocmd BufRead,BufNewFile *.gtt setfiletype gutta
