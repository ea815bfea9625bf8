"""What a panel shows, in a form in which two pages can be compared: running seconds and a reader's own touch left out."""

SHOWN = """(el) => {
  const own = ['open', 'data-touched', 'data-value', 'aria-pressed'];
  const attributes = (node) => [...node.attributes].filter((one) => !own.includes(one.name)).map((one) => [
    one.name, one.name === 'class' ? [...node.classList].sort().join(' ') : one.value,
  ]).sort();
  const clean = (node) => node.nodeType === 3 ? node.data.trim() : node.nodeType !== 1 ? ''
    : [node.nodeName, attributes(node), node.matches('time.since, output') ? [] : [...node.childNodes].map(clean).filter((one) => one !== '')];
  return JSON.stringify(clean(el));
}"""
