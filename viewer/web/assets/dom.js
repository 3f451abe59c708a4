// The parts of the page by their names.

export const find = (id) => document.getElementById(id);
