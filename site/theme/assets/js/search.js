'use strict';

/* The search box: results while typing. Enter opens the first, arrow keys move, Escape closes. Its data is a script,
   loaded when the box is first used, since a page opened from disk cannot fetch. */
(function () {
  const { make, counted, link } = window.sizebookKit;
  const MOST = 40;
  const OF_ONE_KIND = 5;
  const box = document.querySelector('.md-search');
  if (!box) return;
  const field = box.querySelector('.md-search__input');
  const list = box.querySelector('.md-search-result__list');
  const meta = box.querySelector('.md-search-result__meta');
  const toggle = document.getElementById('__search');
  let data = null;

  field.addEventListener('focus', open);
  field.addEventListener('input', show);
  toggle.addEventListener('change', () => { if (toggle.checked) field.focus(); });
  box.querySelector('form').addEventListener('submit', (event) => {
    event.preventDefault();
    show();
    list.querySelector('a')?.click();
  });
  box.querySelector('form').addEventListener('reset', () => {
    list.replaceChildren();
    meta.textContent = hint();
    field.focus();
  });
  box.addEventListener('keydown', (event) => {
    if (event.key === 'Escape') close();
    else if (event.key === 'ArrowDown' || event.key === 'ArrowUp') move(event);
  });
  box.addEventListener('focusout', (event) => {
    if (event.relatedTarget && !box.contains(event.relatedTarget)) toggle.checked = false;
  });
  document.addEventListener('pointerdown', (event) => {
    if (toggle.checked && !box.contains(event.target)) close();
  });

  function open() {
    toggle.checked = true;
    if (data) return;
    if (window.sizebookSearch) return ready();
    const script = make('script', { src: link('assets/search.js'), on: { load: ready, error: missing } });
    document.head.append(script);
  }

  function ready() {
    data ??= window.sizebookFind.prepared(window.sizebookSearch);
    meta.textContent = hint();
    show();
  }

  function missing() {
    meta.textContent = 'The search data is missing from this site build.';
  }

  function hint() {
    return 'Type a format, a sheet code, a fault, a part or a number.';
  }

  function close() {
    toggle.checked = false;
    field.blur();
  }

  function move(event) {
    const stops = [field, ...list.querySelectorAll('a')];
    const next = stops[stops.indexOf(document.activeElement) + (event.key === 'ArrowDown' ? 1 : -1)];
    if (!next) return;
    event.preventDefault();
    next.focus();
  }

  function show() {
    const question = field.value.trim();
    if (!data || !question) {
      list.replaceChildren();
      if (data) meta.textContent = hint();
      return;
    }
    const found = window.sizebookFind.find(question, data);
    const all = found.filter((one) => one.all).length;
    list.replaceChildren(...mixed(found).slice(0, MOST).map((one) => result(one)));
    list.dataset.question = question;
    if (all > 0) meta.textContent = counted(all, 'result');
    else if (found.length > 0) meta.textContent = 'No page has all of these words. Pages with some of them:';
    else meta.textContent = 'No results. Try a shorter word, or another name.';
  }

  /** The best of each kind before the rest, so that many like sheets do not hide the others. */
  function mixed(found) {
    const counts = new Map();
    const first = found.filter((one) => {
      const key = `${one.all}${one.kind}`;
      counts.set(key, (counts.get(key) ?? 0) + 1);
      return counts.get(key) <= OF_ONE_KIND;
    });
    const rest = new Set(first);
    return [...first.filter((one) => one.all), ...found.filter((one) => one.all && !rest.has(one)),
      ...first.filter((one) => !one.all)];
  }

  function result(one) {
    const row = one.row || (one.name === one.title ? '' : one.name);
    const anchor = one.said && one.anchor && !one.href.includes('#') ? `#${one.anchor}` : '';
    return make('li', { class: 'md-search-result__item' },
      make('a', { class: 'md-search-result__link', href: link(one.href + anchor), on: { click: close } },
        make('span', { class: 'sb-hit' }, make('b', {}, one.title), make('small', {}, one.kindName)),
        row ? make('span', { class: 'sb-hit__row' }, row) : null));
  }
})();
