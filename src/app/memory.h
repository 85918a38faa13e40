// Memory that the C library keeps after a large stage has freed it.
#pragma once

namespace lintel::app {

// Gives it back to the operating system. After the networks and the decoder are gone this is most
// of what they took; without it the stages that follow add to their peak. Nothing to do outside
// glibc.
void release_freed_memory();

}  // namespace lintel::app
