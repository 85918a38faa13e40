# OpenCV by parts: Debian puts OpenCVConfig.cmake into libopencv-dev, which pulls in hundreds of
# packages, and not into libopencv-imgproc-dev and its like. Gives the imported targets opencv_<part>,
# OpenCV_INCLUDE_DIRS and OpenCV_VERSION.
find_path(OpenCV_INCLUDE_DIR opencv2/core/version.hpp PATH_SUFFIXES opencv4)
mark_as_advanced(OpenCV_INCLUDE_DIR)
set(opencv_libraries "")
foreach(part IN LISTS OpenCV_FIND_COMPONENTS)
  find_library(OpenCV_${part}_LIBRARY opencv_${part})
  mark_as_advanced(OpenCV_${part}_LIBRARY)
  list(APPEND opencv_libraries OpenCV_${part}_LIBRARY)
endforeach()
if(OpenCV_INCLUDE_DIR)
  set(OpenCV_VERSION "")
  foreach(field IN ITEMS MAJOR MINOR REVISION)
    file(STRINGS ${OpenCV_INCLUDE_DIR}/opencv2/core/version.hpp line REGEX "#define CV_VERSION_${field} ")
    string(REGEX MATCH "[0-9]+" number "${line}")
    list(APPEND OpenCV_VERSION ${number})
  endforeach()
  list(JOIN OpenCV_VERSION "." OpenCV_VERSION)
endif()
include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(OpenCV REQUIRED_VARS OpenCV_INCLUDE_DIR ${opencv_libraries}
                                  VERSION_VAR OpenCV_VERSION)
if(OpenCV_FOUND)
  set(OpenCV_INCLUDE_DIRS ${OpenCV_INCLUDE_DIR})
  foreach(part IN LISTS OpenCV_FIND_COMPONENTS)
    if(NOT TARGET opencv_${part})
      add_library(opencv_${part} SHARED IMPORTED GLOBAL)
      set_target_properties(opencv_${part} PROPERTIES
        IMPORTED_LOCATION ${OpenCV_${part}_LIBRARY}
        INTERFACE_INCLUDE_DIRECTORIES ${OpenCV_INCLUDE_DIR})
    endif()
  endforeach()
endif()
