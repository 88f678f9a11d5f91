-- Infusion orders (gutta): comments, blanks and folds.
if vim.b.did_ftplugin then
  return
end
vim.b.did_ftplugin = 1

vim.bo.comments = ':#'
vim.bo.commentstring = '# %s'
vim.bo.iskeyword = '@,48-57,-,192-255'
vim.bo.expandtab = true
vim.bo.shiftwidth = 2
vim.bo.softtabstop = 2
vim.opt_local.formatoptions:remove('t')
vim.opt_local.foldmethod = 'expr'
vim.opt_local.foldexpr = 'gutta#fold(v:lnum)'
vim.opt_local.foldtext = 'gutta#foldtext()'
vim.opt_local.foldlevel = 99

vim.b.undo_ftplugin = 'setlocal comments< commentstring< iskeyword< expandtab< shiftwidth<'
  .. ' softtabstop< formatoptions< foldmethod< foldexpr< foldtext< foldlevel<'
