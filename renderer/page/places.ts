/** The places: the orders that all work is for, then in the order of a job: set up, look, plan, study, look back, keep, listen. */
export const PLACES = [
  { id: 'orders', name: 'Orders', key: '0', about: 'Customers, orders and their job sheets' },
  { id: 'bench', name: 'Bench', key: '1', about: 'Set up instruments, links and channels' },
  { id: 'watch', name: 'Watch', key: '2', about: 'See what is measured now' },
  { id: 'plan', name: 'Plan', key: '3', about: 'Say what to take tonight' },
  { id: 'points', name: 'Points', key: '4', about: 'What was taken, fits, report' },
  { id: 'archive', name: 'Archive', key: '5', about: 'Past sessions' },
  { id: 'register', name: 'Register', key: '6', about: 'Thermometers and other lasting records' },
  { id: 'wire', name: 'Wire', key: '7', about: 'The traffic of each link' },
  { id: 'laboratory', name: 'Laboratory', key: '8', about: 'Every bench of the laboratory at a glance' },
] as const
export type Place = (typeof PLACES)[number]['id']

/** The page of the guide that answers what is asked at a place. */
export const GUIDE_OF: Readonly<Record<Place, string>> = {
  orders: 'certificates',
  bench: 'instruments',
  watch: 'morning',
  plan: 'first-night',
  points: 'budgets',
  archive: 'corrections',
  register: 'fixed-points',
  wire: 'instruments',
  laboratory: 'benches',
}
