'use strict';

/* Two to four formats side by side. The address names them, `compare.html#b202-250,b211-330`, so a
   comparison can be sent on. A row that differs has the sign ≠ and bold letters. */
(function () {
  const { book, draw, link, make, places, term } = window.sizebookKit;
  const MOST = 4;
  const DASHES = ['', '7 4', '2 3', '10 3 2 3'];
  const MARGIN = 6;

  for (const place of places('compare')) book().then((found) => start(place, found?.formats ?? [], found?.rows, found?.terms));

  function start(place, formats, names, terms) {
    const out = make('div', { class: 'sb-compare' });
    const said = make('p', { class: 'sb-quiet', role: 'status' });
    let onlyDifferent = false;
    place.replaceChildren(said, out);
    window.addEventListener('hashchange', show);
    show();

    function wanted() {
      const ids = decodeURIComponent(location.hash.slice(1)).split(',').filter(Boolean);
      return { ids: [...new Set(ids)], unknown: ids.filter((id) => !formats.some((one) => one.id === id)) };
    }

    function show() {
      const { ids, unknown } = wanted();
      const chosen = ids.map((id) => formats.find((one) => one.id === id)).filter(Boolean).slice(0, MOST);
      const parts = [chooser(chosen)];
      if (formats.length === 0) parts.push(make('p', {}, 'This site build has no list of formats (assets/book.js is missing).'));
      if (unknown.length) parts.push(make('p', { class: 'sb-note' }, `Not in this site build: ${unknown.join(', ')}.`));
      if (chosen.length === 1) parts.push(make('p', {}, 'Choose one more format to compare.'));
      if (chosen.length > 1) parts.push(silhouettes(chosen), table(chosen));
      out.replaceChildren(...parts);
      document.dispatchEvent(new Event('sizebook:tables'));
      said.textContent = chosen.length > 1 ? `Comparing ${chosen.map((one) => one.title).join(', ')}.` : '';
    }

    function go(ids) {
      location.hash = ids.join(',');
    }

    function chooser(chosen) {
      const ids = chosen.map((one) => one.id);
      const row = make('div', { class: 'sb-finder' });
      for (const one of chosen) {
        const drop = () => go(ids.filter((id) => id !== one.id));
        row.append(make('button', { type: 'button', class: 'sb-button', 'aria-label': `Take out ${one.title}`, on: { click: drop } },
          one.title, make('span', { 'aria-hidden': 'true' }, '×')));
      }
      if (chosen.length < MOST) {
        const others = formats.filter((one) => !ids.includes(one.id));
        const select = make('select', { on: { change: () => select.value && go([...ids, select.value]) } },
          make('option', { value: '' }, chosen.length ? 'one more …' : 'choose a format …'),
          others.map((one) => make('option', { value: one.id }, one.title)));
        row.append(make('label', { class: 'sb-field' }, make('span', {}, chosen.length ? 'Add' : 'First'), select));
      }
      if (chosen.length > 1) {
        const press = () => {
          onlyDifferent = !onlyDifferent;
          show();
          out.querySelector('[aria-pressed]').focus();
        };
        row.append(make('button', { type: 'button', class: 'sb-button', 'aria-pressed': String(onlyDifferent), on: { click: press } },
          'Only what differs'));
      }
      return row;
    }

    function table(chosen) {
      const head = make('tr', {}, make('td', {}, make('span', { class: 'sb-quiet' }, 'Value')),
        chosen.map((one) => make('th', { scope: 'col' }, make('a', { href: link(one.href) }, one.title))));
      const bodies = grouped(chosen, names).map(([group, rows]) => {
        const kept = rows.filter((row) => row.differs || !onlyDifferent);
        return kept.length && make('tbody', { 'data-group': group },
          make('tr', { class: 'sb-group' }, make('th', { colspan: chosen.length + 1, scope: 'rowgroup' }, group)),
          kept.map(rowOf));
      }).filter(Boolean);
      const different = grouped(chosen, names).flatMap(([, rows]) => rows).filter((row) => row.differs).length;
      const key = make('p', { class: 'sb-compare__key' }, make('b', {}, '≠'),
        ` marks the ${different} values that differ; below them, how far each is from the first format.`);
      const all = make('table', { class: 'sb-table sb-compare__table' }, make('thead', {}, head), bodies);
      return make('div', {}, key, strip(bodies), all);
    }

    /** The groups of values, to jump to; the one that is being read is marked. */
    function strip(bodies) {
      const buttons = bodies.map((body) => make('button', { type: 'button', on: { click: () => body.scrollIntoView() } }, body.dataset.group));
      const nav = make('nav', { class: 'sb-strip', 'aria-label': 'Groups of values' }, buttons);
      const look = () => {
        if (!nav.isConnected) return window.removeEventListener('scroll', look);
        const line = nav.getBoundingClientRect().bottom + 120;
        const here = bodies.findLastIndex((body) => body.getBoundingClientRect().top < line);
        buttons.forEach((one, i) => {
          if ((i === here) === one.hasAttribute('aria-current')) return;
          one.toggleAttribute('aria-current', i === here);
          if (i === here) nav.scrollTo({ left: one.offsetLeft - nav.offsetLeft - nav.clientWidth / 2 + one.offsetWidth / 2 });
        });
      };
      window.addEventListener('scroll', look, { passive: true });
      return nav;
    }

    function rowOf(row) {
      return make('tr', { class: row.differs ? 'differs' : '' },
        make('th', { scope: 'row' }, make('div', { class: 'sb-compare__label' },
          make('span', { class: 'sb-sign', 'aria-label': row.differs ? 'differs' : null, role: row.differs ? 'img' : null }, row.differs ? '≠' : ''),
          make('span', {}, term(row.label, terms)))),
        row.cells.map((cell, i) => make('td', { class: 'n' },
          cell ? [cell.text, cell.unit && ' ', cell.unit && make('span', { class: 'sb-unit' }, cell.unit)] : '–',
          row.differs && i > 0 && make('span', { class: 'sb-apart' }, apart(row.cells[0], cell)))));
    }
  }

  /** Values of several formats in groups, as [group, [{label, cells, differs}]]; a value that one lacks is null. */
  function grouped(chosen, names) {
    const groups = new Map();
    chosen.forEach((one, i) => {
      for (const [at, text, number] of one.compare) {
        const [group, label, unit] = names[at];
        if (!groups.has(group)) groups.set(group, new Map());
        const rows = groups.get(group);
        if (!rows.has(label)) rows.set(label, { label, cells: chosen.map(() => null) });
        rows.get(label).cells[i] = { text: bare(text, unit), number, unit };
      }
    });
    for (const rows of groups.values()) {
      for (const row of rows.values()) {
        const [first, ...others] = row.cells;
        row.differs = others.some((cell) => cell?.text !== first?.text || cell?.unit !== first?.unit);
      }
    }
    return [...groups].map(([group, rows]) => [group, [...rows.values()]]);
  }

  /** A text without its unit, where both were given. */
  function bare(text, unit) {
    return unit && text.endsWith(` ${unit}`) ? text.slice(0, -unit.length - 1) : text;
  }

  /** How far a value is from the first one, with as many decimals as they are written with. */
  function apart(first, cell) {
    if (typeof first?.number !== 'number' || typeof cell?.number !== 'number' || first.unit !== cell.unit) return null;
    const decimals = Math.max(...[first, cell].map((one) => (one.text.match(/\d+\.(\d+)/)?.[1].length ?? 0)));
    const gap = cell.number - first.number;
    const size = Math.abs(gap).toFixed(decimals);
    return Number(size) === 0 ? null : `${gap < 0 ? '−' : '+'}${size}`;
  }

  /* --- to one scale --- */

  function silhouettes(chosen) {
    const shapes = chosen.filter((one) => one.silhouette);
    if (shapes.length === 0) return '';
    const tallest = Math.max(...shapes.map((one) => one.silhouette.h));
    const widest = Math.max(...shapes.map((one) => one.silhouette.w));
    const words = shapes.map((one) => `${one.title}: ${one.diameter} mm wide, ${one.height} mm high`).join('; ');
    const list = shapes.map((one, i) => make('li', {},
      picture([[one, i]], widest, tallest),
      make('b', {}, one.title),
      make('span', {}, `Ø ${one.diameter} × ${one.height} mm, ${one.contents} ml`),
      make('span', { class: `sb-status-${one.status}` }, one.status)));
    list.push(make('li', {}, picture(shapes.map((one, i) => [one, i]), widest, tallest),
      make('b', {}, 'Overlaid'),
      make('span', {}, shapes.map((one, i) => make('span', { class: 'sb-line' }, dash(i), one.title)))));
    return make('section', { 'aria-label': `Silhouettes to one scale. ${words}` }, make('ul', { class: 'sb-silhouettes' }, list));
  }

  function picture(pairs, widest, tallest) {
    const box = `0 0 ${widest + 2 * MARGIN} ${tallest + 2 * MARGIN}`;
    const svg = draw('svg', { viewBox: box, 'aria-hidden': 'true' },
      draw('path', { class: 'ground', d: `M0 ${tallest + MARGIN}h${widest + 2 * MARGIN}` }));
    for (const [{ silhouette: { d, w, h } }, i] of pairs) {
      const across = MARGIN + (widest - w) / 2;
      svg.append(draw('path', {
        d, class: pairs.length > 1 ? 'open' : 'filled', 'stroke-dasharray': pairs.length > 1 ? DASHES[i] : null,
        transform: `translate(${across} ${MARGIN + tallest - h})`,
      }));
    }
    return svg;
  }

  function dash(i) {
    return draw('svg', { viewBox: '0 0 36 8', class: 'sb-dash', 'aria-hidden': 'true' },
      draw('path', { d: 'M0 4h36', 'stroke-dasharray': DASHES[i] }));
  }
})();
