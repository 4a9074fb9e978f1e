// Loaded into the core's process before its script: throws where nobody catches it, when told to.
const fault = () => new Error('planted fault')
process.on('message', ({ plant }) => {
  if (plant === undefined) return
  if (plant === 'rejection') void Promise.reject(fault())
  else {
    setInterval(() => {
      throw fault()
    }, 1)
  }
})
