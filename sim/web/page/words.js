// The words of the page in the reader's language. A key without words is an error, so that no text
// is missed; `words-*.js` hold them.

const words = WORDS;
let language = "en";
/** Called after the language has changed. */
const onWords = [];

/** The words of a key; `{name}` is replaced by the value of that name. */
function t(key, values = {}) {
  const text = words[language][key];
  if (text === undefined) throw new Error(`no words for ${key} in ${language}`);
  return text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
}

/** A number as the language writes it, with so many decimals. */
const number = (value, decimals) => value.toLocaleString(language, {
  minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: false });

const signed = (value, decimals) =>
  (value < 0 ? "−" : "+") + number(Math.abs(value), decimals);

/** The first of the wanted languages that there is; English where there is none. */
const bestLanguage = (wanted) =>
  wanted.map((tag) => tag.toLowerCase().split("-")[0]).find((tag) => words[tag]) ?? "en";

// A browser may refuse to keep anything for a file.
function keptLanguage() {
  try {
    return localStorage.getItem("language");
  } catch {
    return null;
  }
}

function chooseLanguage(chosen) {
  language = chosen;
  try {
    localStorage.setItem("language", chosen);
  } catch { /* It is then chosen anew next time. */ }
  showWords();
}

/** Fills in every element that names its words. */
function showWords() {
  document.documentElement.lang = language;
  document.documentElement.dir = t("direction");
  document.title = t("page.title");
  for (const element of document.querySelectorAll("[data-word]"))
    element.textContent = t(element.dataset.word);
  for (const element of document.querySelectorAll("[data-word-label]"))
    element.setAttribute("aria-label", t(element.dataset.wordLabel));
  by("language").value = language;
  for (const show of onWords) show();
}

function loadWords() {
  const kept = keptLanguage();
  language = words[kept] ? kept : bestLanguage(navigator.languages ?? ["en"]);
  by("language").append(...Object.keys(words).map((tag) =>
    Object.assign(new Option(words[tag]["language.name"], tag), { lang: tag })));
  by("language").addEventListener("change", ({ target }) => chooseLanguage(target.value));
}
