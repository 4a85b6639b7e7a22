'use strict';

/* Finds entries of the search data by words. Entries that have all words come first, then those that have some.
   A word matches itself, a word that begins with it, its other forms, slang of the glossary, and one wrong letter. */
window.sizebookFind = (function () {
  const SILENT = new Set(('a an and are as at be by do does for from has have how i if in into is it its me my of on or '
    + 'our should so that the their there these they this to too very was we what when where which who why will with '
    + 'you your t s won wont don dont am any').split(' '));
  const ENTRY = { kind: 0, title: 1, href: 2, names: 3, rows: 4 };
  const MATCH = { whole: 1, slang: 0.9, begins: 0.75, joined: 0.9, edited: 0.55 };
  const SOME = 0.45;

  const known = new Map();
  const forms = new Map();

  /** Words of a text: numbers without needless zeros, hyphenated words in parts and as one, the rest as stems. */
  function wordsOf(text) {
    const plain = text.toLowerCase().replace(/(\d),(?=\d)/g, '$1.').replace(/(\d)\s?cl\b/g, '$10 ml')
      .replace(/(^|\s)\.(?=\d)/g, '$10.').replace(/(\d)(mm|ml|kn|kpa|min|in|g)\b/g, '$1 $2')
      .replace(/(\d)[x×](?=\d{3}(?!\d))/g, '$1 ')
      .replace(/\b([a-z]{3,})(?=\d)/g, '$1 ');
    return (plain.match(/[\p{L}\p{N}]+(?:[-.'’\u2010-\u2013][\p{L}\p{N}]+)*/gu) ?? []).map((run) => {
      if (!known.has(run)) known.set(run, wordOf(run));
      return known.get(run);
    });
  }

  function wordOf(run) {
    if (/^\d+(\.\d+)?$/.test(run)) return { raw: String(Number(run)), parts: [String(Number(run))], joined: '' };
    const parts = run.split(/[-.'’\u2010-\u2013]/);
    const raw = parts.join('');
    for (const part of parts) {
      if (!forms.has(stem(part))) forms.set(stem(part), new Set());
      forms.get(stem(part)).add(part);
    }
    return { raw, parts: parts.map(stem), joined: parts.length > 1 ? stem(raw) : '' };
  }

  /** The part of a word that its forms share: trimming, trimmed and trim; wrinkles and wrinkled. */
  function stem(word) {
    if (!/^[a-z]{4,}$/.test(word)) return word;
    let bare = word.replace(/(ss|sh|ch|x|z)es$/, '$1').replace(/ies$/, 'y').replace(/([^su])s$/, '$1');
    bare = bare.replace(/^(.*[aeiouy].+?)(ing|ed)$/, '$1');
    if (bare !== word) bare = bare.replace(/([bdgmnprt])\1$/, '$1');
    return bare.length > 3 ? bare.replace(/e$/, '') : bare;
  }

  /** The data with its words: which texts have a word, which names and rows an entry has. */
  function prepared({ kinds, texts, entries, slang }) {
    const vocabulary = new Map();
    const spans = new Map();
    const sizes = [];
    const homes = [];
    const known = new Map();

    function add(text, entry, isName, anchor) {
      let at = isName ? undefined : known.get(text);
      if (at === undefined) {
        at = sizes.length;
        if (!isName) known.set(text, at);
        const all = wordsOf(text);
        const parts = all.flatMap((word) => word.parts);
        sizes.push(parts.filter((one) => !SILENT.has(one)).length || 1);
        homes.push([]);
        const joined = all.filter((one) => one.joined);
        joined.forEach((one) => spans.set(one.joined, one.parts.length));
        for (const word of new Set([...parts, ...joined.map((one) => one.joined)])) {
          if (!vocabulary.has(word)) vocabulary.set(word, []);
          vocabulary.get(word).push(at);
        }
      }
      homes[at].push({ entry, isName, anchor, text });
    }

    entries.forEach((one, i) => {
      for (const name of [one[ENTRY.title], ...one[ENTRY.names]]) add(name, i, true, '');
      let anchor = '';
      for (const row of one[ENTRY.rows]) {
        if (typeof row === 'string') anchor = row;
        else add(texts[row], i, false, anchor);
      }
    });
    const plain = new Map(Object.entries(slang).map(([from, to]) => [flat(from).join(' '), flat(to)]));
    const longest = Math.max(1, ...[...plain.keys()].map((key) => key.split(' ').length));
    return { kinds, entries, vocabulary, spans, sizes, homes, plain, longest };
  }

  function flat(text) {
    return wordsOf(text).flatMap((word) => word.parts).filter((one) => !SILENT.has(one));
  }

  /** The question in groups: each is a list of ways to say the same, and each way a list of words. */
  function groupsOf(question, data) {
    let typed = wordsOf(question);
    const weighty = typed.filter((word) => !SILENT.has(word.joined || word.parts[0]));
    if (weighty.length > 0) typed = weighty;
    const groups = [];
    for (let i = 0; i < typed.length;) {
      const taken = slangAt(typed, i, data) ?? joinedAt(typed, i, data);
      groups.push(taken ?? { ways: waysOf(typed[i]), count: 1 });
      i += groups.at(-1).count;
    }
    return groups.map((group) => group.ways);
  }

  function waysOf({ parts, joined }) {
    const ways = [{ words: parts, worth: MATCH.whole }];
    if (joined) ways.push({ words: [joined], worth: MATCH.whole });
    return ways;
  }

  function slangAt(typed, i, data) {
    for (let count = Math.min(data.longest, typed.length - i); count > 0; count -= 1) {
      const words = typed.slice(i, i + count).flatMap((word) => word.parts);
      const term = data.plain.get(words.join(' '));
      if (!term) continue;
      const own = count === 1 ? waysOf(typed[i]) : [{ words, worth: MATCH.whole }];
      return { ways: [...own, { words: term, worth: MATCH.slang }], count };
    }
    return null;
  }

  /** Two words that the pages write as one: body maker. */
  function joinedAt(typed, i, data) {
    if (i + 1 >= typed.length) return null;
    const words = [...typed[i].parts, ...typed[i + 1].parts];
    const joined = stem(typed[i].raw + typed[i + 1].raw);
    if (words.length !== 2 || joined.length < 5 || /^\d+$/.test(joined) || !data.vocabulary.has(joined)) return null;
    return { ways: [{ words, worth: MATCH.whole }, { words: [joined], worth: MATCH.joined }], count: 2 };
  }

  /** How well each text has a word: by the number of the text. */
  function textsWith(word, data) {
    const found = new Map();
    const keep = (other, worth) => {
      for (const at of data.vocabulary.get(other)) if (!(found.get(at) >= worth)) found.set(at, worth);
    };
    if (data.vocabulary.has(word)) keep(word, MATCH.whole);
    const number = /\d/.test(word);
    if (word.length > 1 && !/^\d+$/.test(word)) {
      for (const other of data.vocabulary.keys()) {
        if (other !== word && other.startsWith(word)) keep(other, MATCH.begins * (0.7 + 0.3 * word.length / other.length));
      }
    }
    if (found.size === 0 && word.length > 2 && !number) {
      const typed = [...forms.get(word) ?? [word]];
      for (const other of data.vocabulary.keys()) {
        const others = [...forms.get(other) ?? []];
        if (typed.some((one) => others.some((form) => oneEdit(one, form)))) keep(other, MATCH.edited);
      }
    }
    return found;
  }

  /** Whether one letter more, less, other, or two changed over make the one word the other. */
  function oneEdit(a, b) {
    if (Math.abs(a.length - b.length) > 1) return false;
    let i = 0;
    while (i < a.length && a[i] === b[i]) i += 1;
    const rest = (x, y) => a.slice(i + x) === b.slice(i + y);
    return rest(1, 1) || rest(0, 1) || rest(1, 0) || (a[i] === b[i + 1] && a[i + 1] === b[i] && rest(2, 2));
  }

  /** How well each text has a group: in the best of its ways, with all the words of that way. */
  function textsOf(ways, data) {
    const best = new Map();
    for (const { words, worth } of ways) {
      const each = words.map((word) => textsWith(word, data));
      const count = words.reduce((sum, word) => sum + (data.spans.get(word) ?? 1), 0);
      for (const at of each[0].keys()) {
        const mean = each.reduce((sum, one) => sum + (one.get(at) ?? -words.length), 0) / words.length;
        if (mean <= 0) continue;
        const known = best.get(at);
        if (!known || known.worth < mean * worth) best.set(at, { worth: mean * worth, count });
      }
    }
    return best;
  }

  /** The results of a question, the best first: `{ kindName, title, href, name, row, anchor, all }`. */
  function find(question, data) {
    const groups = groupsOf(question, data).map((ways) => textsOf(ways, data));
    const hits = new Map();
    const rarity = groups.map((texts) => Math.log(1 + data.sizes.length / (1 + texts.size)));
    groups.forEach((texts, g) => {
      for (const [at, match] of texts) {
        for (const home of data.homes[at]) {
          const hit = hits.get(home.entry) ?? { named: [], said: [], names: new Map(), rows: new Map() };
          hits.set(home.entry, hit);
          const [kept, places] = home.isName ? [hit.named, hit.names] : [hit.said, hit.rows];
          kept[g] = Math.max(kept[g] ?? 0, match.worth);
          const place = places.get(at) ?? { home, at, worth: 0, count: 0, groups: 0 };
          place.worth += match.worth * rarity[g];
          place.count += match.count;
          place.groups += 1;
          places.set(at, place);
        }
      }
    });
    const total = rarity.reduce((sum, one) => sum + one, 0) || 1;
    const results = [...hits].map(([at, hit]) => ranked(data, at, hit, { groups, rarity, total }));
    const kept = results.filter((one) => one.all || one.share >= SOME);
    const words = flat(question);
    const letters = (text) => text.trim().toLowerCase().replace(/[-\s]+/g, ' ');
    const typed = letters(question);
    kept.forEach((one) => {
      one.score += 3 * inOrder(words, one.name) + (one.names.some((name) => letters(name) === typed) ? 12 : 0);
    });
    return kept.sort((a, b) => b.all - a.all || b.score - a.score || a.kind - b.kind || a.at - b.at);
  }

  /** The share of the words that a name has one after the other: a changeover from A to B is none from B to A. */
  function inOrder(words, name) {
    const parts = flat(name);
    let from = 0;
    let met = 0;
    for (const word of words) {
      const at = parts.indexOf(word, from);
      if (at >= 0) [from, met] = [at + 1, met + 1];
    }
    return met / (words.length || 1);
  }

  function ranked(data, at, hit, { groups, rarity, total }) {
    const entry = data.entries[at];
    let share = 0;
    let strength = 0;
    let all = true;
    groups.forEach((_, g) => {
      const best = Math.max(hit.named[g] ?? 0, 0.5 * (hit.said[g] ?? 0));
      if (best === 0) all = false;
      else share += rarity[g] / total;
      strength += best * rarity[g] / total;
    });
    const name = [...hit.names.values()].map((one) => {
      const covered = Math.min(1, one.count / data.sizes[one.at]);
      const worth = one.worth / total;
      return { value: worth * (0.55 + 0.45 * covered), whole: one.groups === groups.length && covered === 1 ? worth : 0, home: one.home };
    }).reduce((best, one) => (one.value + one.whole > best.value + best.whole ? one : best), { value: 0, whole: 0, home: { text: entry[ENTRY.title] } });
    let row = null;
    let said = 0;
    for (const one of hit.rows.values()) {
      const worth = one.worth / total * (0.5 + 0.5 * Math.min(1, 8 / data.sizes[one.at]));
      if (worth > said) [row, said] = [one, worth];
    }
    const kind = entry[ENTRY.kind];
    const score = 40 * name.whole + 50 * name.value + 20 * (1 - name.whole) * said + 20 * strength - 0.9 * kind;
    return {
      at, all, share, score, kind,
      title: entry[ENTRY.title], href: entry[ENTRY.href], row: row?.home.text ?? '', anchor: row?.home.anchor ?? '',
      name: name.home.text, names: [entry[ENTRY.title], ...entry[ENTRY.names]], said: said > name.value, kindName: data.kinds[kind],
    };
  }

  return { find, prepared };
})();
