'use strict';

/* The table of formats: sort by any column, narrow down, choose two to four to compare.
   Without this script it is a plain table. */
(function () {
  const { counted, draw, link, make, places } = window.sizebookKit;
  const MOST = 4;
  const NARROWED_BY = ['status', 'line', 'end'];

  for (const table of places('formats')) {
    const rows = [...table.tBodies[0].rows].map((element, place) => rowOf(element, place));
    const heads = [...table.tHead.rows[0].cells];
    const keys = heads.map((head) => head.dataset.key ?? named(head));
    sortable(table, heads, rows);
    const finder = narrowing(table, keys, rows);
    (table.closest('.sb-wide') ?? table).before(finder);
    choosing(table, rows);
  }

  function rowOf(element, place) {
    const href = element.querySelector('a')?.getAttribute('href') ?? '';
    const id = element.dataset.id ?? href.replace(/^.*\//, '').replace(/\.html.*$/, '');
    const named = element.querySelector('th') ?? element.cells[0];
    const name = (named.querySelector('a') ?? named).textContent.trim();
    return { element, place, id, named, name, words: plain(element.textContent) };
  }

  /** Which of the narrowing columns a head names, in one or several: `Status`, `Lines`. */
  function named(head) {
    const word = head.textContent.trim().toLowerCase();
    return NARROWED_BY.find((key) => word === key || word === `${key}s`) ?? word;
  }

  function plain(text) {
    return text.toLowerCase().replace(/×/g, 'x').replace(/\s+/g, ' ');
  }

  /* --- sorting --- */

  function sortable(table, heads, rows) {
    const said = make('p', { class: 'sb-quiet', role: 'status' });
    table.before(said);
    const order = new Intl.Collator('en', { numeric: true });
    heads.forEach((head, column) => {
      if (!head.dataset.type) return;
      const number = head.dataset.type === 'number';
      if (number) [head, ...rows.map((row) => row.element.cells[column])].forEach((cell) => cell?.classList.add('n'));
      const label = head.textContent.trim();
      const termLink = head.querySelector('.sb-term');
      const [, words, unit] = label.match(/^(.*?)(?:,? \[?(\w+)\]?)?$/s);
      const arrows = draw('svg', { viewBox: '0 0 12 18', 'aria-hidden': 'true' },
        draw('path', { class: 'up', d: 'M6 2 10 7H2Z' }), draw('path', { class: 'down', d: 'M6 16 2 11h8Z' }));
      head.replaceChildren(make('button', { type: 'button', class: 'sb-sort', on: { click: sort } }, make('span', {}, words, unit && make('small', {}, unit)), arrows));
      if (termLink) {
        termLink.replaceChildren('?');
        termLink.setAttribute('aria-label', `What is ${words}?`);
        head.append(termLink);
      }
      head.setAttribute('aria-sort', 'none');

      function sort() {
        const down = head.getAttribute('aria-sort') === 'ascending';
        heads.filter((other) => other.dataset.type).forEach((other) => other.setAttribute('aria-sort', 'none'));
        head.setAttribute('aria-sort', down ? 'descending' : 'ascending');
        const sign = down ? -1 : 1;
        rows.sort((a, b) => {
          const [x, y] = [a, b].map((row) => value(row.element.cells[column], number));
          if (x === null || y === null) return (x === null) - (y === null) || a.place - b.place;
          return sign * (number ? x - y : order.compare(x, y)) || a.place - b.place;
        });
        table.tBodies[0].append(...rows.map((row) => row.element));
        said.textContent = `Sorted by ${label}, ${down ? 'from the last' : 'from the first'}.`;
      }
    });
  }

  /** What a cell sorts by; null where it holds nothing, which stays last both ways. */
  function value(cell, number) {
    const text = (cell?.dataset.value ?? cell?.textContent ?? '').trim();
    if (!number) return text === '' ? null : text;
    const found = text.replace('−', '-').match(/-?\d+(\.\d+)?/);
    return found ? Number(found[0]) : null;
  }

  /* --- narrowing down --- */

  function narrowing(table, keys, rows) {
    const text = make('input', { type: 'search', autocomplete: 'off', placeholder: 'name, size, end …', on: { input: narrow } });
    const selects = NARROWED_BY.filter((key) => keys.includes(key)).map((key) => selectOf(key, keys.indexOf(key)));
    const count = make('p', { class: 'sb-count', role: 'status' });
    const clear = make('button', { type: 'button', class: 'sb-button', on: { click: all } }, 'Show all');
    const nothing = make('p', { hidden: true }, 'No format matches. ');
    const form = make('div', { class: 'sb-finder', role: 'search', 'aria-label': 'Formats' },
      make('label', { class: 'sb-field' }, make('span', {}, 'Find'), text),
      selects.map((one) => make('label', { class: 'sb-field' }, make('span', {}, one.title), one.element)),
      clear, count, nothing);
    Object.entries(history.state?.formats ?? {}).forEach(([key, was]) => {
      const field = key === 'text' ? text : selects.find((one) => one.key === key)?.element;
      if (field) field.value = was;
    });
    narrow();
    return form;

    function selectOf(key, column) {
      const held = new Set(rows.flatMap((row) => (row[key] = parts(row.element.cells[column]))));
      const options = [...held].sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
      const element = make('select', { on: { change: narrow } }, make('option', { value: '' }, 'any'),
        options.map((one) => make('option', { value: one }, one)));
      return { key, element, title: key[0].toUpperCase() + key.slice(1) };
    }

    function narrow() {
      const wanted = plain(text.value).split(' ').filter(Boolean);
      let fits = 0;
      for (const row of rows) {
        const fit = wanted.every((word) => row.words.includes(word)) &&
          selects.every((one) => !one.element.value || row[one.key].includes(one.element.value));
        row.element.hidden = !fit;
        fits += fit;
      }
      const narrowed = Boolean(text.value) || selects.some((one) => one.element.value);
      count.textContent = narrowed ? `${fits} of ${counted(rows.length, 'format')}` : counted(rows.length, 'format');
      nothing.hidden = fits > 0;
      clear.hidden = !narrowed;
      const kept = Object.fromEntries([['text', text.value], ...selects.map((one) => [one.key, one.element.value])]);
      history.replaceState({ ...history.state, formats: kept }, '');
    }

    function all() {
      text.value = '';
      selects.forEach((one) => (one.element.value = ''));
      narrow();
      text.focus();
    }
  }

  /** The separate words of a cell: its links or marks; without any, the text between commas. */
  function parts(cell) {
    const marked = [...(cell?.querySelectorAll('a, span') ?? [])].map((one) => one.textContent.trim());
    return (marked.length ? marked : (cell?.textContent ?? '').split(',').map((one) => one.trim())).filter(Boolean);
  }

  /* --- choosing for comparing --- */

  function choosing(table, rows) {
    const chosen = [];
    const words = make('p', { role: 'status' });
    const go = make('a', { class: 'sb-button main' }, 'Compare');
    const none = make('button', { type: 'button', class: 'sb-button', on: { click: clear } }, 'Choose none');
    const bar = make('div', { class: 'sb-chosen', hidden: true }, words, make('div', { class: 'sb-chosen__buttons' }, go, none));
    (table.closest('.sb-wide') ?? table).after(bar);

    for (const row of rows) {
      const box = make('input', { type: 'checkbox', 'aria-label': `Compare ${row.name}`, on: { change: () => choose(row, box) } });
      row.named.replaceChildren(make('div', { class: 'sb-named' }, make('label', { class: 'sb-pick' }, box), make('span', {}, ...row.named.childNodes)));
      row.box = box;
    }
    rows.filter((row) => row.box.checked).forEach((row) => choose(row, row.box));

    function choose(row, box) {
      if (box.checked && chosen.length === MOST) {
        box.checked = false;
        words.textContent = `Four at most. Chosen: ${names()}.`;
        return;
      }
      if (box.checked) chosen.push(row);
      else chosen.splice(chosen.indexOf(row), 1);
      row.element.classList.toggle('chosen', box.checked);
      update();
    }

    function clear() {
      chosen.splice(0).forEach((row) => {
        row.box.checked = false;
        row.element.classList.remove('chosen');
      });
      update();
      rows[0].box.focus();
    }

    function update() {
      bar.hidden = chosen.length === 0;
      words.textContent = chosen.length < 2 ? `Chosen: ${names()}. Choose one more to compare.` : `Chosen: ${names()}.`;
      go.hidden = chosen.length < 2;
      go.href = `${link('formats/compare.html')}#${chosen.map((row) => row.id).join(',')}`;
    }

    function names() {
      return chosen.map((row) => row.name).join(', ');
    }
  }
})();
