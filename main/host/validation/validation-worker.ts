import { serveThread } from '../../store/serve-thread.ts'
import { validationTasks } from './validation-tasks.ts'

// The thread in which the program is validated: what it takes must not hold up the loop that measures.
serveThread(validationTasks, () => {})
