// What the phone decides on its own. Every limit comes from the engine (core/training/criterion/phone_rules.py), every
// sentence too; tests/browser/test_deciding.py holds each answer to the engine's. Nothing here reads a clock or a page.

const LETTERS = { met: "m", missed: "x", helped: "h" };
const SHORTEST_MS = 1e-6;

// ---- sentences: the figures of a template, written as the engine writes them --------------------------------

function even(x, digits) {
  const scaled = x * 10 ** digits;
  const low = Math.floor(scaled);
  const tie = scaled - low === 0.5 && Number.isInteger(x * 2 ** (digits + 1));
  return tie ? ((low % 2 ? low + 1 : low) / 10 ** digits).toFixed(digits) : x.toFixed(digits);
}

function percent(p, words) {
  const text = p < 0.01 ? words.under : p > 0.99 ? words.over : words.percent.replace("{n}", even(100 * p, 0));
  return text.replaceAll(" ", "\u00a0");
}

export function say(template, figures, words) {
  return template.replace(/\{(\w+)(?::([^}]*))?\}/g, (whole, name, spec) => {
    const value = figures[name];
    if (value === undefined) return whole;
    if (spec === ".0%") return percent(value, words);
    if (spec === "g") return String(Number(value.toPrecision(6)));
    const fixed = /^\.(\d)f$/.exec(spec ?? "");
    return fixed ? even(value, Number(fixed[1])) : String(value);
  });
}

const middle = (values) => {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
};

// ---- a run of tries by its counts -----------------------------------------------------------------------------

export function letterOf(trial, durationS) {
  if (trial.outcome !== "met") return LETTERS[trial.outcome] ?? "";
  return trial.hold && trial.hold.held_s < durationS ? "s" : "m";
}

export function count(letters, rule) {
  const counts = { met: 0, missed: 0, helped: 0, row: 0, short: 0, ratio: 0 };
  for (const letter of letters) {
    const met = letter === "m" || letter === "s";
    if (met) counts.met += 1;
    if (letter === "s") counts.short += 1;
    if (letter === "x") counts.missed += 1;
    if (letter === "h") counts.helped += 1;
    counts.row = letter === "x" ? counts.row + 1 : 0;
    counts.ratio = Math.max(rule.lower, counts.ratio + (met ? rule.per_met : rule.per_miss));
  }
  counts.n = counts.met + counts.missed + counts.helped;
  return counts;
}

export function byCounts(session, place, counts) {
  const rule = session.figures.counts;
  const of = (action, to, key, more = {}) =>
    ({ action, step: to, reason: say(session.says.counts[key], { met: counts.met, n: counts.n, ...more }, session.says) });
  if (counts.row >= rule.misses_in_a_row || (counts.n && counts.ratio <= rule.lower)) {
    if (place === 0) return of("pause", 0, "first_step");
    return counts.row >= rule.misses_in_a_row ? of("lower", place - 1, "misses", { n: counts.row }) : of("lower", place - 1, "too_hard");
  }
  if (counts.n < rule.min_trials) return of("keep", place, "too_few", { need: rule.min_trials });
  if (place >= session.goal || place + 1 === session.steps.length) return of("keep", place, "at_goal");
  if (counts.ratio < rule.upper) {
    const more = Math.max(0, Math.ceil((rule.upper - counts.ratio) / rule.per_met - 1e-9));
    return of("keep", place, more === 1 ? "one_more" : "until_sure", { more });
  }
  const full = counts.met - counts.short;
  if (counts.short && full < rule.full_holds) return of("keep", place, "short", { full, need: rule.full_holds });
  return of("raise", place + 1, "raise");
}

// ---- when to stop, whatever the counts say ----------------------------------------------------------------------

function rateWithin(trials, minSpanS) {
  if (trials.length < 2) return null;
  const spanS = (trials.at(-1).at - trials[0].at) / 1000;
  if (spanS < minSpanS) return null;
  const paid = trials.slice(1).filter((one) => one.outcome === "met" || one.outcome === "helped" || one.pieces > 0);
  return (paid.length * 60) / spanS;
}

function missedAfterLower(session, trials) {
  const counted = trials.filter((one) => one.outcome !== "void");
  const [first, second] = counted.slice(-2);
  if (!second) return null;
  const before = counted.at(-3)?.step ?? session.before.step;
  const was = session.steps.findIndex((one) => one.key === before);
  const at = session.steps.findIndex((one) => one.key === first.step);
  if (was < 0 || at < 0 || at >= was || first.step !== second.step) return null;
  return first.outcome === "missed" && second.outcome === "missed" ? say(session.says.pause.after_lower, {}, session.says) : null;
}

function latencyRose(session, trials) {
  const rule = session.figures.pause;
  const latencies = trials.map((one) => one.latency_s ?? null).filter((one) => one !== null);
  const earlier = latencies.slice(0, -rule.latency_trials);
  if (earlier.length < rule.rate_trials) return null;
  const before = middle(earlier);
  const lately = middle(latencies.slice(-rule.latency_trials));
  if (lately < rule.latency_rise * before || lately - before < rule.latency_rise_s) return null;
  return say(session.says.pause.latency, { before, lately }, session.says);
}

function rateFell(session, trials) {
  const rule = session.figures.pause;
  if (session.scoring === "hold" || trials.length < 2 * rule.rate_trials) return null;
  const before = rateWithin(trials.slice(0, -rule.rate_trials), rule.min_span_s);
  const lately = rateWithin(trials.slice(-rule.rate_trials - 1), rule.min_span_s);
  if (before === null || lately === null || lately > rule.rate_fall * before) return null;
  return say(session.says.pause.rate, { before, lately }, session.says);
}

function ranLong(session, trials, now, step) {
  const rule = session.figures.pause;
  if (trials.length >= rule.trials) return say(session.says.pause.trials, { n: trials.length, step }, session.says);
  const ranS = (now - trials[0].at) / 1000;
  if (session.scoring !== "trial" || ranS < rule.session_s) return null;
  return say(session.says.pause.minutes, { minutes: Math.floor(ranS / 60 + SHORTEST_MS), step }, session.says);
}

// Why to stop now, or null. trials: the session's own, void ones included; at and now in milliseconds.
export function pauseReason(session, trials, { now, pieces, nextStep }) {
  if (pieces === 0) return say(session.says.pause.empty, { step: nextStep }, session.says);
  if (session.probe || !trials.length) return null;
  const until = Math.max(now, trials.at(-1).at);
  if (until - trials.at(-1).at > session.figures.pause.live_within_s * 1000) return null;
  return missedAfterLower(session, trials) ?? latencyRose(session, trials) ?? rateFell(session, trials) ?? ranLong(session, trials, until, nextStep);
}

// ---- the decision: the engine's table where it reaches, else the run's counts; a pause before either --------------

function rowOf(table, word) {
  const found = table.rows[word];
  return typeof found === "number" ? table.says[found] : found;
}

// The letters of the table for this session so far, or null where it went another way than the table knows.
export function wordOf(session, trials, step) {
  let word = "";
  let at = session.table?.step;
  const follow = (to) => {
    if (to === at) return true;
    if (rowOf(session.table, word)?.step !== to) return false;
    word += ">";
    at = to;
    return true;
  };
  if (at === undefined) return null;
  const from = session.table.from ?? 0;
  if (trials.length < from || (from && trials[from - 1].event !== session.table.after)) return null;
  for (const trial of trials.slice(from)) {
    if (trial.outcome === "void") continue;
    if (!follow(trial.step)) return null;
    word += LETTERS[trial.outcome] ?? "?";
  }
  return follow(step) ? word : null;
}

function runLetters(session, trials, step) {
  const durationS = session.steps.find((one) => one.key === step)?.duration_s ?? 0;
  const since = trials.findLastIndex((one) => one.step !== step);
  const run = trials.slice(since + 1).map((one) => letterOf(one, durationS)).join("");
  return since < 0 && session.before.step === step ? session.before.run + run : run;
}

// The step tried last and the run there, as a session begun after these trials finds them.
export function runAfter(session, trials) {
  const last = trials.findLast((one) => one.outcome !== "void");
  return last ? { step: last.step, run: runLetters(session, trials, last.step) } : { step: session.before.step, run: session.before.run };
}

export function decide(session, trials, { now, step, pieces = null }) {
  const word = session.scoring === "hold" ? null : wordOf(session, trials, step);
  const row = word === null ? undefined : rowOf(session.table, word);
  const place = Math.max(0, session.steps.findIndex((one) => one.key === step));
  let found = row && { ...row, by: "table" };
  if (!found) {
    const counted = byCounts(session, place, count(runLetters(session, trials, step), session.figures.counts));
    found = { ...counted, step: session.steps[counted.step].key, by: "counts" };
  }
  const nextStep = session.steps.find((one) => one.key === found.step)?.summary ?? "";
  const reason = pauseReason(session, trials, { now, pieces, nextStep });
  return reason === null ? found : { ...found, action: "pause", reason, by: "rule" };
}

// ---- holds: which duration to ask for next -------------------------------------------------------------------------

function roundDown(seconds, leastS) {
  return seconds >= 10 ? Math.floor(seconds) : Math.max(leastS, Math.floor(seconds * 10) / 10);
}

export function nextHold(session, { step, holds, inSession, expectedS = null }) {
  const rule = session.figures.hold;
  const criterionS = Math.max(rule.min_s, session.steps.find((one) => one.key === step).duration_s);
  const recent = holds.slice(-rule.recent);
  const shape = rule.prior_breaks + recent.filter((one) => one.broke).length;
  let exposureS = rule.prior_share * criterionS + recent.reduce((sum, one) => sum + one.held_s, 0);
  if (!holds.length && expectedS !== null) exposureS = Math.max(exposureS, expectedS / (rule.middle ** (-1 / shape) - 1));
  const heldWith = (p) => exposureS * (p ** (-1 / shape) - 1);
  const middleS = Math.min(heldWith(rule.middle), criterionS);
  const last = holds.at(-1);
  let wantedS = middleS * rule.multiples[inSession % rule.multiples.length];
  if (last?.broke) wantedS = Math.min(wantedS, rule.after_break * middleS);
  const limits = [heldWith(rule.least), rule.beyond_criterion * criterionS];
  if (last) limits.push(rule.beyond_best * Math.max(rule.min_s, ...recent.map((one) => one.held_s)));
  const target = roundDown(Math.min(wantedS, ...limits), rule.min_s);
  const p = (exposureS / (exposureS + target)) ** shape;
  const key = !last ? "first" : last.broke ? "broke" : "next";
  return { target_s: target, p, reason: say(session.says.hold[key], { target, held: last?.held_s, p }, session.says) };
}

// ---- a dog on its mat: when to pay it next, from a multiple of the mean ---------------------------------------------

export function payInterval(rule, targetS, multiple) {
  const meanS = Math.min(rule.most_mean_s, Math.max(rule.least_mean_s, rule.between_share * targetS));
  return Math.max(rule.least_s, Math.floor(10 * meanS * multiple + 0.5) / 10);
}

// ---- watching the learner --------------------------------------------------------------------------------------------

function mouthSays(rule, mouths) {
  const lately = mouths.slice(-rule.mouths_read);
  const rough = lately.filter((mouth) => mouth >= rule.mouth_rough).length;
  if (mouths.some((mouth) => mouth >= rule.mouth_broken)) return ["end", "skin", {}];
  if (lately.length && lately.at(-1) >= rule.mouth_break) return ["break", "mark", {}];
  return rough >= rule.n_rough ? ["other-reinforcer", "presses", { n: rough, of: lately.length }] : null;
}

function signsSay(rule, signs) {
  if (signs.size >= rule.signs_end) return ["end", "three_signs", { n: signs.size }];
  if (signs.size >= rule.signs_easier) return ["easier", "two_signs", { n: signs.size }];
  return signs.has("refuses-food") ? ["break", "refuses", {}] : null;
}

function missesSay(rule, counted) {
  const missed = (part) => part.filter((one) => one.outcome === "missed").length;
  const before = counted.slice(0, -rule.lately);
  const [was, now] = [missed(before), missed(counted.slice(-rule.lately))];
  if (before.length < rule.before || now < rule.misses_lately || was > rule.misses_before * before.length) return null;
  return ["break", "misses", { n: now, of: rule.lately, before: was, earlier: before.length }];
}

function latencySays(rule, counted) {
  const latencies = counted.map((one) => one.latency_s ?? null).filter((one) => one !== null);
  const before = latencies.slice(0, -rule.latencies);
  if (before.length < rule.latencies_before) return null;
  const [was, now] = [middle(before), middle(latencies.slice(-rule.latencies))];
  return now < rule.slower * was || now - was < rule.slower_s ? null : ["other-reinforcer", "latency", { was, now }];
}

function paceSays(rule, counted, minSpanS) {
  if (counted.length < rule.before + rule.lately) return null;
  const was = rateWithin(counted.slice(0, -rule.lately), minSpanS);
  const now = rateWithin(counted.slice(-rule.lately - 1), minSpanS);
  return was === null || now === null || now > rule.pace_fall * was ? null : ["easier", "pace", { was, now }];
}

// What this session suggests, the most urgent first. seen: {signs, mouth} in time order.
export function watch(session, trials, seen) {
  const rule = session.figures.watch;
  const counted = session.probe ? [] : trials.filter((one) => one.outcome !== "void");
  const found = [
    mouthSays(rule, seen.map((one) => one.mouth ?? null).filter((one) => one !== null)),
    signsSay(rule, new Set(seen.flatMap((one) => one.signs ?? []))),
    missesSay(rule, counted),
    latencySays(rule, counted),
    session.scoring === "hold" ? null : paceSays(rule, counted, session.figures.pause.min_span_s),
  ];
  return found.filter(Boolean).sort((a, b) => rule.order.indexOf(a[0]) - rule.order.indexOf(b[0]))
    .map(([suggestion, key, figures]) => ({ suggestion, rule: key, reason: say(session.says.watch[key], figures, session.says) }));
}
