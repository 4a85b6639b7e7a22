'use strict';

/* Is the sheet in my hand the one in force? A code is typed, pasted or seen by the camera; the answer is a word, a
   shape and a colour. Codes are made of C D F H J K M R T W X Y 3 4 7 9 alone, so whoever reads another sign has
   misread one that looks like it. */
(function () {
  const { book, counted, daysSince, draw, link, make, places, shown, today } = window.sizebookKit;
  const TOO_OLD = 30;
  const DRAFT = /^[Z2][CDFHJKMRTWXY3479]{5}$/;
  const MISREAD = {
    0: 'DC', O: 'DC', Q: 'D9C', 1: '7TJ', I: 'TJ7', L: 'J7', 2: '73', Z: '73', 5: '39', S: '39', 6: 'C9', 8: '39', B: '3R', G: 'C9',
    A: 'R4H', E: 'F3', N: 'MHW', P: 'RF9', U: 'YJW', V: 'YW',
  };
  const ALIKE = ['39', '49', '7TYJ', 'CD', 'FR', 'KX', 'MWH', 'XY', 'KR', '37'];
  const SHAPES = {
    current: 'M32 3a29 29 0 1 0 .01 0ZM17 33l10 11 20-23',
    superseded: 'M20 3h24l17 17v24L44 61H20L3 44V20ZM20 20l24 24M44 20 20 44',
    unknown: 'M32 2 62 32 32 62 2 32ZM24 25c1-11 17-10 16 0-1 6-8 6-8 13M32 45v1',
  };

  for (const place of places('codes')) book().then((found) => start(place, standing(found?.sheets ?? [], found?.built ?? ''), found?.built, found?.draft));

  /** The sheets as they stand today: an issue recorded ahead of its day takes over when that day has come, also in a
      copy made before. The sheets come in the order of issue, in which a later one overtakes whatever begins no
      earlier than itself. A clock that is behind the copy is not believed. */
  function standing(sheets, built) {
    const day = [today(), built].sort().at(-1);
    const issues = new Map();
    const of = (one) => ['sheet', 'line', 'format'].map((key) => one[key]).join('\n');
    for (const one of sheets) issues.set(of(one), [...(issues.get(of(one)) ?? []), one]);
    return sheets.map((one) => {
      const same = issues.get(of(one));
      const alive = same.some((other) => other.state === 'current');
      const upTo = one.since > day ? one.since : day;
      const later = same.slice(same.indexOf(one) + 1).filter((other) => other.since <= upTo).reverse();
      const state = later.length > 0 ? 'superseded' : one.since > day ? 'early' : alive ? 'current' : 'superseded';
      return { ...one, state, now: alive ? same.filter((other) => other.since <= day).at(-1) : null, later };
    });
  }

  function start(place, sheets, built, copy) {
    const input = make('input', {
      id: 'sb-code', type: 'text', autocomplete: 'off', autocapitalize: 'characters', spellcheck: 'false',
      enterkeyhint: 'done', maxlength: '400', placeholder: 'K7F-4X', on: { input: answer },
    });
    const out = make('div', { class: 'sb-answer-box', role: 'status', 'aria-live': 'polite' });
    const clear = make('button', { type: 'button', class: 'sb-button', hidden: true, on: { click: wipe } }, 'Clear');
    const form = make('div', { class: 'sb-asker' },
      make('label', { for: 'sb-code' }, 'Code on the sheet'),
      make('div', { class: 'sb-asker__row' }, input, clear));
    const given = document.querySelector('table .sb-code') !== null;
    place.replaceChildren(form, out, ...(given ? [] : lists(sheets)));
    document.dispatchEvent(new Event('sizebook:tables'));
    place.dispatchEvent(new CustomEvent('sizebook:asker', { bubbles: true, detail: { row: form.lastChild, read } }));
    answer();

    function read(text) {
      input.value = text;
      answer();
    }

    function wipe() {
      read('');
      input.focus();
    }

    function answer() {
      clear.hidden = input.value === '';
      const found = lookUp(input.value, sheets);
      out.replaceChildren(...(found ? told(found) : []));
    }

    function told({ asked, sheet, misread, near, draft }) {
      if (draft) {
        return [panel('superseded', 'Draft', [
          make('p', {}, code(asked), ' is the code of a draft. No draft is in force: set no machine by it, and get the sheet in force.'),
        ])];
      }
      if (copy) {
        return [panel('unknown', 'Ask the plant’s copy', [
          make('p', {}, `This copy is ${copy}: it cannot say what is in force.`), sheet && what(sheet),
        ])];
      }
      const aged = built && daysSince(built) > TOO_OLD;
      const as = misread ? make('p', { class: 'sb-answer__read' }, `${asked} is no code; read as `, code(sheet.code), '. Compare it with the sheet.') : null;
      const doubt = misread ? `, if it is ${sheet.code}` : '';
      if (!sheet) {
        return [panel('unknown', 'Unknown', [
          make('p', {}, code(asked), ' is not in this copy', built ? ` of ${shown(built)}` : '', '. Either it was misread, or the sheet is newer than this copy: update the tablet.'),
          near.length > 0 && make('p', {}, 'It looks like:'),
          near.length > 0 && make('div', { class: 'sb-near' }, near.map((one) => make('button',
            { type: 'button', class: 'sb-button', on: { click: () => read(one.code) } }, code(one.code), ` ${one.sheet}`))),
        ])];
      }
      if (sheet.state === 'current') {
        return [panel('current', (aged ? 'Current in an old copy' : 'Current') + doubt, [
          as, what(sheet), make('p', {}, `In force since ${shown(sheet.since)}.`),
          aged && make('p', {}, `This copy is ${counted(daysSince(built), 'day')} old: a newer sheet may be out. Update the tablet, or look at the posted list.`),
        ], aged || misread)];
      }
      const { now, later } = sheet;
      if (sheet.state === 'early') {
        return [panel('unknown', 'Not in force yet' + doubt, [
          as, what(sheet), make('p', {}, `It begins on ${shown(sheet.since)}.`),
          now && make('p', {}, 'In force now: ', make('a', { href: link(now.href) }, `revision ${now.revision}`), ', ', code(now.code), '.'),
        ])];
      }
      return [panel('superseded', 'Superseded' + doubt, [
        as, what(sheet),
        now
          ? make('p', {}, 'In force now: ', make('a', { href: link(now.href) }, `revision ${now.revision}`), ', ', code(now.code), `, since ${shown(now.since)}.`)
          : make('p', {}, 'No sheet of this name is in force any more.'),
        later.length > 0 && make('p', {}, 'What changed:'),
        later.length > 0 && make('ul', {}, later.map((one) => make('li', {}, `${shown(one.since)}, revision ${one.revision}: ${listed(one.changed)}`))),
      ])];
    }
  }

  /* --- looking up --- */

  /** What a text names: nothing while it is too short; else the sheet, or sheets that look alike. */
  function lookUp(text, sheets) {
    const byCode = new Map(sheets.map((one) => [bare(one.code), one]));
    const shortest = Math.min(...[...byCode.keys()].map((one) => one.length), 6);
    const words = text.toUpperCase().split(/[\s,;:|]+/).map(bare).filter(Boolean);
    const whole = bare(text.toUpperCase());
    for (const word of [whole, ...words]) if (byCode.has(word)) return { asked: word, sheet: byCode.get(word), near: [] };
    const draft = [whole, ...words].find((word) => DRAFT.test(word));
    if (draft) return { asked: draft, draft: true, near: [] };
    if (whole.length < shortest) return null;
    const meant = [...byCode].filter(([one]) => [whole, ...words].some((word) => misreadAs(word, one)));
    if (meant.length === 1) return { asked: whole, sheet: meant[0][1], misread: true, near: [] };
    const near = meant.length ? meant : [...byCode].filter(([one]) => looksLike(whole, one));
    return { asked: words.length > 1 ? text.trim().slice(0, 40) : whole, sheet: null, near: near.map(([, one]) => one).slice(0, 4) };
  }

  function bare(text) {
    return text.replace(/[^0-9A-Z]/gi, '').toUpperCase();
  }

  /** Whether a word is this code with letters that no code has in place of some that look alike. */
  function misreadAs(word, code) {
    return word.length === code.length && [...word].every((letter, i) => letter === code[i] || MISREAD[letter]?.includes(code[i]));
  }

  function looksLike(word, code) {
    if (Math.abs(word.length - code.length) > 1) return false;
    if (word.length !== code.length) return word.startsWith(code) || code.startsWith(word);
    const wrong = [...word].map((letter, i) => [letter, code[i]]).filter(([a, b]) => a !== b && !MISREAD[a]?.includes(b));
    return wrong.length === 1 || wrong.every(([a, b]) => ALIKE.some((group) => group.includes(a) && group.includes(b)));
  }

  function listed(changed) {
    const words = Array.isArray(changed) ? changed.join('; ') : changed;
    return words || 'not said';
  }

  /* --- showing --- */

  function panel(state, word, content, doubtful = false) {
    const shape = draw('svg', { viewBox: '0 0 64 64', 'aria-hidden': 'true' }, draw('path', { d: SHAPES[state] }));
    return make('div', { class: `sb-answer ${state}${doubtful ? ' doubtful' : ''}` }, shape,
      make('div', {}, make('p', { class: 'sb-answer__word' }, word), content));
  }

  function what(sheet) {
    return make('p', {}, make('a', { href: link(sheet.href) }, sheet.sheet), ` on ${sheet.line}, revision ${sheet.revision}, `, code(sheet.code), '.');
  }

  function code(text) {
    return make('span', { class: 'sb-code' }, text);
  }

  /** What is in force on each line, where the page does not list it itself. */
  function lists(sheets) {
    const lines = [...new Set(sheets.map((one) => one.line))].sort();
    return lines.map((line) => {
      const rows = sheets.filter((one) => one.line === line && one.state === 'current')
        .sort((a, b) => a.sheet.localeCompare(b.sheet, 'en', { numeric: true }));
      const id = `line-${line.toLowerCase().replace(/[^a-z0-9]+/g, '-')}`;
      return make('section', { 'aria-labelledby': id }, make('h2', { id }, `In force on ${line}`),
        make('table', { class: 'sb-table sb-codes' },
          make('thead', {}, make('tr', {}, ['Code', 'Sheet', 'Revision', 'Since'].map((one) => make('th', { scope: 'col' }, one)))),
          make('tbody', {}, rows.map((one) => make('tr', {}, make('td', {}, code(one.code)),
            make('td', {}, make('a', { href: link(one.href) }, one.sheet)), make('td', {}, one.revision), make('td', {}, shown(one.since)))))));
    });
  }
})();
