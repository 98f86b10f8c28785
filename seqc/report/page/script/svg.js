/* Elements, texts and times. Text is only ever set as text, never as markup. */
const SVG = "http://www.w3.org/2000/svg";

function draw(parent, name, attributes = {}, text = null) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== null) element.textContent = text;
  parent.append(element);
  return element;
}

function make(parent, name, attributes = {}, text = null) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== null) element.textContent = text;
  parent.append(element);
  return element;
}

function change(element, key, value) {
  if (element.getAttribute(key) !== String(value)) element.setAttribute(key, value);
}

/* A time as people read it: milliseconds, from ten seconds on seconds. */
function spoken(us) {
  return us < 1e7 ? `${(us / 1000).toFixed(1).replace(/\.0$/, "")} ms` : `${(us / 1e6).toFixed(2)} s`;
}

/* A number of units, as compact as can be. */
function short(value) {
  return Number(value.toFixed(3)).toString();
}
