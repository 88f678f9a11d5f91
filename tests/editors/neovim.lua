-- Neovim itself, headless, with the folder `editors/neovim` and the server.
-- Run by `tests/editors/run.py`: the current directory is a copy of
-- `tests/editors/workspace`.

local PATIENCE = 30000

local passed, failed = 0, 0

local function check(name, test)
  local fine, fault = xpcall(test, debug.traceback)
  if fine then
    passed = passed + 1
    io.stdout:write('ok   neovim: ', name, '\n')
  else
    failed = failed + 1
    io.stdout:write('FAIL neovim: ', name, '\n', tostring(fault), '\n')
  end
end

local function equal(found, wanted)
  if not vim.deep_equal(found, wanted) then
    error(('found  %s\nwanted %s'):format(vim.inspect(found), vim.inspect(wanted)), 2)
  end
end

local function wait(what, condition)
  if not vim.wait(PATIENCE, condition, 20) then
    error(('not within %d s: %s'):format(PATIENCE / 1000, what), 2)
  end
end

local function findings()
  local all = vim.tbl_map(function(finding)
    return ('%d %s %s'):format(finding.lnum + 1, vim.diagnostic.severity[finding.severity], finding.code)
  end, vim.diagnostic.get(0))
  table.sort(all)
  return all
end

local function group_at(line, word)
  local text = vim.fn.getline(line)
  local column = assert(text:find(word, 1, true), word)
  return vim.fn.synIDattr(vim.fn.synID(line, column, 1), 'name')
end

vim.cmd.edit('orders.gtt')

check('the filetype is known', function()
  equal(vim.bo.filetype, 'gutta')
  equal(vim.bo.commentstring, '# %s')
end)

check('words and units are coloured', function()
  equal(group_at(5, 'order'), 'guttaStanza')
  equal(group_at(5, 'noradrenaline-central'), 'guttaName')
  equal(group_at(5, '"Nor'), 'guttaText')
  equal(group_at(6, 'noradrenaline'), '')
  equal(group_at(9, 'route'), 'guttaLine')
  equal(group_at(9, 'central vein'), 'guttaRoute')
  equal(group_at(11, '4 mg'), 'guttaNumber')
  equal(group_at(11, 'mg'), 'guttaUnit')
  equal(group_at(11, 'up to'), 'guttaPhrase')
  equal(group_at(11, '-5'), '')
  equal(group_at(12, 'mcg/kg'), 'guttaUnit')
  equal(group_at(14, 'flow'), 'guttaMeasure')
  equal(group_at(1, '# Inv'), 'guttaComment')
end)

check('a stanza folds under its header', function()
  equal(vim.fn.foldlevel(5), 1)
  equal(vim.fn.foldlevel(14), 1)
  equal(vim.fn.foldlevel(15), 0)
  vim.cmd('normal! zM')
  equal({ vim.fn.foldclosed(9), vim.fn.foldclosedend(9) }, { 5, 14 })
  vim.cmd('normal! zR')
end)

check('a new line is indented as its stanza', function()
  vim.cmd.new()
  vim.bo.filetype = 'gutta'
  local keys = vim.api.nvim_replace_termcodes(
    'iorder a<CR>drug b<CR>phase one<CR>mix c<CR>phase two<CR>run d<CR><CR>order e<CR>drug f<Esc>',
    true, false, true)
  vim.api.nvim_feedkeys(keys, 'tx', false)
  local lines = vim.api.nvim_buf_get_lines(0, 0, -1, false)
  vim.cmd('bwipeout!')
  equal(lines, {
    'order a', '  drug b', '  phase one', '    mix c', '  phase two', '    run d', '', 'order e', '  drug f',
  })
end)

check('the server starts in the workspace', function()
  wait('the server', function()
    return #vim.lsp.get_clients({ name = 'gutta', bufnr = 0 }) == 1
  end)
  local client = vim.lsp.get_clients({ name = 'gutta', bufnr = 0 })[1]
  wait('its answer', function() return client.initialized end)
  equal(vim.uv.fs_realpath(client.root_dir), vim.uv.fs_realpath(vim.fn.getcwd()))
end)

check('its findings are diagnostics', function()
  wait('findings', function() return #vim.diagnostic.get(0) > 0 end)
  equal(findings(), {
    '16 HINT review.none',
    '22 WARN text.no-space',
    '23 ERROR limit.never',
    '5 HINT review.none',
  })
end)

check('the gravest of the findings has the margin', function()
  local signs = vim.tbl_filter(function(mark) return mark[4].sign_text end,
    vim.api.nvim_buf_get_extmarks(0, -1, { 22, 0 }, { 22, -1 }, { details = true }))
  table.sort(signs, function(one, other) return one[4].priority > other[4].priority end)
  equal(#signs, 1)
  equal(vim.trim(signs[1][4].sign_text), 'E')
end)

check('they follow what is typed', function()
  vim.api.nvim_buf_set_lines(0, 22, 23, true, { '  run        all at 0.3 mcg/kg/min' })
  wait('the limit kept', function()
    return not vim.tbl_contains(findings(), '23 ERROR limit.never')
  end)
  equal(findings(), {
    '16 HINT review.none',
    '22 WARN text.no-space',
    '5 HINT review.none',
  })
  vim.cmd('silent undo')
  wait('the limit passed', function()
    return vim.tbl_contains(findings(), '23 ERROR limit.never')
  end)
end)

-- Puts the cursor on a word of a line.
local function stand_on(line, word)
  local column = assert(vim.fn.getline(line):find(word, 1, true), word)
  vim.api.nvim_win_set_cursor(0, { line, column - 1 })
end

local function buffer_of(name)
  return vim.fn.bufnr('^' .. vim.fn.getcwd() .. '/' .. name .. '$')
end

check('a name leads to its stanza in another file', function()
  stand_on(6, 'noradrenaline')
  vim.lsp.buf.definition()
  wait('the other file', function() return vim.fn.expand('%:t') == 'reference.gtt' end)
  equal(vim.api.nvim_win_get_cursor(0)[1], 10)
  vim.cmd.edit('orders.gtt')
end)

check('a rename reaches both files', function()
  stand_on(6, 'noradrenaline')
  vim.lsp.buf.rename('norepinephrine')
  wait('the new name', function() return vim.fn.getline(6) == '  drug       norepinephrine' end)
  equal(vim.fn.getline(17), '  drug       norepinephrine')
  equal(vim.fn.getbufline(buffer_of('reference.gtt'), 10), { 'drug norepinephrine "Noradrenaline (as base)"' })
  -- Nothing is unknown by its new name.
  equal(vim.tbl_filter(function(found) return found:find('name.unknown', 1, true) end, findings()), {})
  vim.cmd('silent undo')
  vim.fn.win_execute(vim.fn.win_getid(), 'buffer reference.gtt | silent undo | buffer orders.gtt')
  -- Neovim holds changes back, and a question flushes the current buffer alone.
  stand_on(6, 'noradrenaline')
  wait('the old name in both files', function()
    local params = vim.lsp.util.make_position_params(0, 'utf-16')
    local answers = vim.lsp.buf_request_sync(0, 'textDocument/definition', params, PATIENCE)
    for _, answer in pairs(answers or {}) do
      if answer.result and #vim.tbl_keys(answer.result) > 0 then
        return true
      end
    end
  end)
end)

check('formatting lays the lines out', function()
  vim.api.nvim_buf_set_lines(0, 5, 6, true, { ' drug noradrenaline' })
  vim.lsp.buf.format({ timeout_ms = PATIENCE })
  equal(vim.fn.getline(6), '  drug       noradrenaline')
end)

check('derived values stand behind their lines', function()
  wait('hints', function() return #vim.lsp.inlay_hint.get({ bufnr = 0 }) > 0 end)
  local run
  for _, hint in ipairs(vim.lsp.inlay_hint.get({ bufnr = 0 })) do
    if hint.inlay_hint.position.line == 11 then
      run = hint.inlay_hint.label
    end
  end
  -- 0.06 mcg/kg/min of 80 mcg/mL: 1.8 mL/h at 40 kg, 6.75 mL/h at 150 kg.
  assert(run and run:find('1.8 to 6.75 mL/h', 1, true), vim.inspect(run))
end)

check('a hover shows the working', function()
  stand_on(12, 'run')
  vim.lsp.buf.hover()
  local function floating()
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.w[window]['textDocument/hover'] then
        return window
      end
    end
  end
  wait('the working in the hover', function()
    local window = floating()
    return window and table.concat(vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, false), '\n')
      :find('360 mcg/h ÷ 80 mcg/mL = 4.5 mL/h', 1, true)
  end)
  vim.api.nvim_win_close(floating(), true)
end)

check('a code action puts the spelling right', function()
  stand_on(22, '16mg')
  vim.lsp.buf.code_action({
    apply = true,
    filter = function(action) return action.title == 'Write `16 mg` instead of `16mg`' end,
  })
  wait('the correction', function()
    return vim.fn.getline(22) == '  mix        16 mg made up to 50 mL with glucose-5'
  end)
  vim.cmd('silent undo')
end)

-- Completion is typed, in a Neovim that reads keys: this one runs the script.
check('completion offers the names while typing', function()
  local other = vim.fn.jobstart({
    vim.v.progpath, '--headless', '--embed', '--clean', '--cmd', 'set runtimepath^=' .. vim.o.runtimepath:match('^[^,]+'),
    'orders.gtt',
  }, { rpc = true })
  local function there(code)
    return vim.fn.rpcrequest(other, 'nvim_exec_lua', code, {})
  end
  wait('the server', function()
    return there("return #vim.diagnostic.get(0)") > 0
  end)
  vim.fn.rpcrequest(other, 'nvim_input', '6GA<C-w>nor<C-x><C-o>')
  local function offered()
    return there([[return vim.tbl_map(function(item) return item.word end, vim.fn.complete_info({ 'items' }).items)]])
  end
  wait('an offer', function() return #offered() > 0 end)
  equal(offered(), { 'noradrenaline' })
  vim.fn.jobstop(other)
end)

check('a missing program is said', function()
  vim.lsp.config('gutta', { cmd = { '/nowhere/gutta', 'serve' } })
  vim.cmd.edit('new.gtt')
  local said = vim.fn.execute('messages')
  assert(said:find('no program `/nowhere/gutta`, so nothing is checked', 1, true), said)
end)

io.stdout:write(('editor neovim: %d passed, %d failed\n'):format(passed, failed))
vim.cmd(failed == 0 and 'qall!' or 'cquit!')
