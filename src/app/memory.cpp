#include "app/memory.h"

#include <cstdlib>  // defines __GLIBC__

#ifdef __GLIBC__
#include <malloc.h>
#endif

namespace lintel::app {

void release_freed_memory() {
#ifdef __GLIBC__
  malloc_trim(0);
#endif
}

}  // namespace lintel::app
