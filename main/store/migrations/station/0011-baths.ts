import type { Migration } from '../../migrate.ts'

/**
 * Changes no table: a bench may name its bath's entry in the register from this form on, and entries keep repairs, which programs
 * of before would call damaged. They refuse the file by its number instead. What stood on benches is moved at opening, see takeBaths.
 */
const step: Migration = { id: 11, brings: 'baths in the register, with surveys and repairs', up() {} }
export default step
