-- Infusion orders (gutta): the filetype, the server, and the derived values
-- behind the lines.

vim.filetype.add({ extension = { gtt = 'gutta' } })

if not vim.lsp.enable then
  return -- Before Neovim 0.11: colours, folds and indent alone.
end

local group = vim.api.nvim_create_augroup('gutta', {})

vim.api.nvim_create_autocmd('LspAttach', {
  group = group,
  callback = function(event)
    local client = vim.lsp.get_client_by_id(event.data.client_id)
    if not client or client.name ~= 'gutta' then
      return
    end
    -- Of two findings in a line the graver one has the margin.
    for _, pulled in ipairs({ true, false }) do
      vim.diagnostic.config({ severity_sort = true }, vim.lsp.diagnostic.get_namespace(client.id, pulled))
    end
    if vim.g.gutta_hints ~= false and client:supports_method('textDocument/inlayHint', event.buf) then
      vim.lsp.inlay_hint.enable(true, { bufnr = event.buf })
    end
    if vim.g.gutta_completion ~= false and client:supports_method('textDocument/completion', event.buf) then
      vim.lsp.completion.enable(true, client.id, event.buf, { autotrigger = true })
    end
  end,
})

-- Said once: without the server, silence would look like a clean file.
vim.api.nvim_create_autocmd('FileType', {
  group = group,
  pattern = 'gutta',
  callback = function()
    local command = vim.lsp.config.gutta.cmd
    if type(command) == 'table' and vim.fn.executable(command[1]) == 0 then
      vim.notify_once(
        ("gutta: no program `%s`, so nothing is checked here. Install it, or set vim.g.gutta_executable."):format(command[1]),
        vim.log.levels.WARN
      )
    end
  end,
})

vim.lsp.enable('gutta')
