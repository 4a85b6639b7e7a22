'use strict';

/* Line, what runs now, what comes next: three steps with buttons for gloves. What was chosen stands in the address,
   `changeovers/index.html#heron,regular-330,regular-355`, so the browser's way back undoes a step. */
(function () {
  const { make, places } = window.sizebookKit;
  const STEPS = ['Line', 'Running now', 'Next'];

  for (const place of places('changeover')) {
    if (window.sizebookChangeovers) start(place, window.sizebookChangeovers.lines);
  }

  function start(place, lines) {
    const out = make('div', { class: 'sb-steps' });
    const said = make('p', { class: 'sb-quiet', role: 'status' });
    place.replaceChildren(said, out);
    window.addEventListener('hashchange', () => show(true));
    show(false);

    function show(moved) {
      const chosen = read(lines);
      const parts = [steps(chosen)];
      if (!chosen.line) parts.push(choice('Which line?', lines.map((one) => [one.title, one.crew, [one.id]])));
      else if (!chosen.old) parts.push(choice('What runs there now?', formats(chosen.line, (one) => [chosen.line.id, one.id])));
      else if (!chosen.new) {
        const others = chosen.line.formats.filter((one) => one !== chosen.old);
        parts.push(choice('What comes next?', formats({ formats: others }, (one) => [chosen.line.id, chosen.old.id, one.id])));
      } else parts.push(answer(chosen));
      out.replaceChildren(...parts);
      document.dispatchEvent(new Event('sizebook:tables'));
      const head = out.querySelector('h2');
      said.textContent = head.textContent;
      if (moved) head.focus();
    }

    /** Where we are; what is chosen is a link back to its step. */
    function steps(chosen) {
      const values = [chosen.line?.title, chosen.old?.title, chosen.new?.title];
      const ids = [chosen.line?.id, chosen.old?.id];
      const rows = STEPS.map((words, i) => make('li', { 'aria-current': !values[i] && (i === 0 || values[i - 1]) ? 'step' : null },
        make('small', {}, `${i + 1} ${words}`),
        values[i] ? make('a', { class: 'sb-button', href: `#${ids.slice(0, i).join(',')}`, 'aria-label': `${words}: ${values[i]}. Choose another` }, values[i])
          : make('span', {}, '–')));
      return make('ol', { class: 'sb-steps__way' }, rows);
    }

    function choice(words, rows) {
      return make('section', {}, make('h2', { tabindex: '-1' }, words),
        make('div', { class: 'sb-steps__choice' }, rows.map(([title, small, ids]) =>
          make('a', { class: 'sb-button', href: `#${ids.join(',')}` }, make('b', {}, title), make('small', {}, small)))));
    }

    function formats(line, ids) {
      return line.formats.map((one) => [one.title, one.id, ids(one)]);
    }
  }

  /** What the address says, as far as this copy has it. */
  function read(lines) {
    const [line, old, next] = decodeURIComponent(location.hash.slice(1)).split(',');
    const found = lines.find((one) => one.id === line) ?? (lines.length === 1 ? lines[0] : null);
    const of = (id) => found?.formats.find((one) => one.id === id) ?? null;
    const goes = of(old);
    return { line: found, old: goes, new: goes && old !== next ? of(next) : null };
  }

  function answer({ line, old, new: next }) {
    const pair = line.pairs[`${old.id}>${next.id}`];
    const head = make('h2', { tabindex: '-1' }, `${old.title} → ${next.title}`);
    if (!pair) return make('section', {}, head, make('p', {}, 'This copy knows no changeover of these two.'));
    if (pair.why) {
      return make('section', {}, head, make('p', { class: 'sb-note' }, make('strong', {}, 'Not possible. '), pair.why.join('; ')));
    }
    const [typical, nine, worst] = pair.minutes;
    const touched = new Set(pair.changes.map(([i]) => i));
    const alone = line.machines.filter((_, i) => !touched.has(i));
    return make('section', { class: 'sb-steps__answer' }, head,
      make('p', {}, make('strong', {}, pair.kind), `. Planned for crew ${line.crew}.`,
        line.others.length ? ` No plan here for ${line.others.join(', ')}: type ` : null,
        line.others.length ? make('code', {}, `sizebook changeover ${old.id} ${next.id} --line ${line.id} --crew CREW`) : null),
      pair.mark && make('p', { class: 'sb-note' }, make('strong', {}, pair.mark), ': the page says why.'),
      make('dl', { class: 'sb-facts' }, fact('stop, typical', `${typical} min`), fact('nine of ten within', `${nine} min`),
        fact('all at their worst', `${worst} min`), pair.code && fact('sheet code', pair.code, 'sb-code')),
      make('p', {}, pair.past ? `Recorded until mechanically complete: ${pair.past}.` : 'No past changeover of this crew is recorded.'),
      make('p', { class: 'sb-doors' }, doors(pair, line, old, next)),
      make('p', { class: 'sb-alone' }, make('strong', {}, `Leave alone: ${alone.join(', ') || 'no machine; every one is touched'}.`)),
      make('table', { class: 'sb-table sb-dense' }, make('caption', {}, 'What changes'),
        make('thead', {}, make('tr', {}, make('th', { scope: 'col' }, 'machine'), make('th', { scope: 'col' }, 'what changes there'))),
        make('tbody', {}, pair.changes.map(([i, what]) => make('tr', {}, make('th', { scope: 'row' }, line.machines[i]), make('td', {}, what))))),
      make('p', { class: 'sb-note sb-caution' }, make('strong', {}, 'Caution. '),
        "The machine maker's manual, the site's isolation procedure and authorised people come before this page."));
  }

  /** The pages of a pair; where a line has too many of them, the command that makes its sheet. */
  function doors(pair, line, old, next) {
    const command = make('code', {}, `sizebook changeover ${old.id} ${next.id} --line ${line.id} --pdf`);
    if (!pair.name) return ['Sheet: ', command];
    return [
      make('a', { class: 'sb-button main', href: `${pair.name}.sheet.html` }, `Sheet ${pair.code}`),
      make('a', { class: 'sb-button', href: `${pair.name}.cards.html` }, 'Job cards'),
      make('a', { class: 'sb-button', href: `${pair.name}.html` }, 'Plan, critical path, levers'),
      make('span', {}, 'PDF: ', command),
    ];
  }

  function fact(words, value, look) {
    return make('div', {}, make('dt', {}, words), make('dd', { class: look ?? null }, value));
  }
})();
