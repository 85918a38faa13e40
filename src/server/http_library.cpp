// The one place where the parts of Asio and Beast that are no templates are compiled.
#include <utility>

#include <boost/asio/impl/src.hpp>
#include <boost/asio/ssl/impl/src.hpp>
#include <boost/beast/src.hpp>
