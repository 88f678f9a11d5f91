-- Infusion orders (gutta): how its language server is started.
---@type vim.lsp.Config
return {
  cmd = { vim.g.gutta_executable or 'gutta', 'serve' },
  filetypes = { 'gutta' },
  root_markers = { 'gutta.toml', '.git' },
  settings = { gutta = vim.empty_dict() },
}
