'use strict';

/* The table of faults, narrowed down by words and by the columns that have a filter. */
(function () {
  const { make, counted } = window.sizebookKit;

  for (const table of document.querySelectorAll('table[data-sb="faults"]')) start(table);

  function start(table) {
    const rows = [...table.tBodies[0].rows];
    const text = make('input', { type: 'search', autocomplete: 'off', placeholder: 'name or words …', on: { input: narrow } });
    const choices = [...table.tHead.rows[0].cells].filter((head) => head.dataset.filter).map((head) => {
      const values = [...new Set(rows.map((row) => row.cells[head.cellIndex].textContent.trim()))];
      const select = make('select', { autocomplete: 'off', on: { change: narrow } },
        make('option', { value: '' }, 'all'), values.map((value) => make('option', { value }, value)));
      return { select, at: head.cellIndex, name: head.dataset.filter };
    });
    const count = make('p', { class: 'sb-count', role: 'status' });
    const form = make('div', { class: 'sb-finder sb-finder--faults', role: 'search', 'aria-label': 'Faults' },
      field('Find', text), choices.map(({ name, select }) => field(name[0].toUpperCase() + name.slice(1), select)), count);
    (table.closest('.sb-wide') ?? table.closest('.sb-scroll') ?? table).before(form);
    narrow();

    function narrow() {
      const words = text.value.toLowerCase().split(/\s+/).filter(Boolean);
      for (const row of rows) {
        const said = `${row.textContent} ${row.dataset.words}`.toLowerCase();
        row.hidden = !(words.every((word) => said.includes(word))
          && choices.every(({ select, at }) => !select.value || row.cells[at].textContent.trim() === select.value));
      }
      const shown = rows.filter((row) => !row.hidden).length;
      count.textContent = shown === rows.length ? counted(shown, 'fault') : `${shown} of ${counted(rows.length, 'fault')}`;
    }
  }

  function field(words, input) {
    return make('label', { class: 'sb-field' }, make('span', {}, words), input);
  }
})();
