import { serveThread } from '../store/serve-thread.ts'
import { practiceTasks } from './practice-tasks.ts'

// The thread in which the lab in a box records sessions to practise on: a whole station with its instruments.
serveThread(practiceTasks, () => {})
