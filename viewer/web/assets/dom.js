// The parts of the page by their names.

/**
 * An element of any kind.
 * @param {string} id
 * @returns {any}
 */
export const find = (id) => document.getElementById(id);
